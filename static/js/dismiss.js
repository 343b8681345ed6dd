// An opened sheet closes at a tap beside it or with Escape.

function close(except) {
  for (const sheet of document.querySelectorAll("details[data-dismiss][open]")) {
    if (sheet !== except) {
      sheet.open = false;
    }
  }
}

document.addEventListener("click", (event) => close(event.target.closest("details[data-dismiss]")));

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    const sheet = document.querySelector("details[data-dismiss][open]");
    close(null);
    sheet?.querySelector("summary")?.focus();
  }
});
