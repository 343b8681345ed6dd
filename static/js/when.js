// Questions that matter only after another answer: data-when="kind=sheet" on what is
// shown while the field of that name has that value; several are parted by blanks, and all
// must hold. Without this all of them are shown.

function answer(form, name) {
  const field = form.elements.namedItem(name);
  return field ? field.value : "";
}

function settle(form) {
  for (const part of form.querySelectorAll("[data-when]")) {
    const holds = part.dataset.when.split(" ").every((wanted) => {
      const [name, value] = wanted.split("=");
      return answer(form, name) === value;
    });
    part.hidden = !holds;
  }
}

function settleAll() {
  for (const part of document.querySelectorAll("[data-when]")) {
    if (part.closest("form")) {
      settle(part.closest("form"));
    }
  }
}

settleAll();
// A page that is gone back to has its old answers again.
window.addEventListener("pageshow", settleAll);

document.addEventListener("change", (event) => {
  const form = event.target.closest("form");
  if (form) {
    settle(form);
  }
});
