// A form that writes is sent once: its buttons rest until the answer comes.
// data-busy="Selling…" on the form changes the word on the button that was pressed.

// After this long without an answer the button wakes again. The form's replay key
// keeps a second sending from being done twice.
const PATIENCE_MS = 20000;

const sent = new Map();

function writes(form) {
  return form instanceof HTMLFormElement && form.method === "post";
}

function wake(form) {
  const before = sent.get(form);
  sent.delete(form);
  if (before?.button) {
    before.button.removeAttribute("aria-busy");
    before.button.replaceChildren(...before.face);
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!writes(form) || event.defaultPrevented) {
    return;
  }
  if (sent.has(form)) {
    event.preventDefault();
    return;
  }
  const button = event.submitter ?? form.querySelector("[type=submit]");
  sent.set(form, { button, face: [...(button?.childNodes ?? [])] });
  setTimeout(() => wake(form), PATIENCE_MS);
  if (button) {
    button.setAttribute("aria-busy", "true");
    // A row or an icon keeps its face; a plain button says what goes on.
    if (button.classList.contains("button")) {
      button.textContent = form.dataset.busy || "Saving…";
    }
  }
});

// Back from the browser's memory of the page: the form may be used again.
window.addEventListener("pageshow", () => {
  for (const form of [...sent.keys()]) {
    wake(form);
  }
});
