// Copy a text with one tap.
//
// data-copy        a button beside the field that holds the text; hidden without this script
// data-copied      what the button says for a moment once it is done
//
// Browsers give scripts the clipboard on HTTPS pages alone; elsewhere the text is
// selected, so that the device's own menu can copy it.

const MOMENT_MS = 3000;

async function copy(field) {
  field.focus();
  field.select();
  try {
    await navigator.clipboard.writeText(field.value);
    return true;
  } catch {
    return false;
  }
}

function say(button, words) {
  const face = [...button.childNodes];
  button.textContent = words;
  setTimeout(() => button.replaceChildren(...face), MOMENT_MS);
}

for (const button of document.querySelectorAll("[data-copy]")) {
  button.hidden = false;
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-copy]");
  if (!button || button.dataset.resting) {
    return;
  }
  button.dataset.resting = "1";
  const done = await copy(button.parentElement.querySelector("input"));
  say(button, done ? button.dataset.copied : "Selected: copy it now");
  setTimeout(() => delete button.dataset.resting, MOMENT_MS);
});
