// Show what is being typed as a password, for as long as its own button is pressed in.
// Without this the field stays covered. A form that is sent covers it again, so that
// browsers keep it as a password.

function cover(button, shown) {
  const input = button.parentElement.querySelector("input");
  input.type = shown ? "text" : "password";
  button.setAttribute("aria-pressed", String(shown));
}

function offer(root) {
  for (const button of root.querySelectorAll("[data-reveal]")) {
    button.hidden = false;
  }
}

offer(document);
document.addEventListener("htmx:load", (event) => offer(event.target));

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-reveal]");
  if (button) {
    cover(button, button.getAttribute("aria-pressed") !== "true");
  }
});

document.addEventListener("submit", (event) => {
  for (const button of event.target.querySelectorAll("[data-reveal]")) {
    cover(button, false);
  }
});
