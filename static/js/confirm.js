// A last question before a form is sent: data-confirm="Write off 3 pieces?" on the form
// or on the button that sends it. data-confirm-yes is what the agreeing button says.

function ask(question, yes) {
  const dialog = document.createElement("dialog");
  dialog.className = "dialog";
  const words = document.createElement("p");
  words.id = "confirm-question";
  words.textContent = question;
  dialog.setAttribute("aria-labelledby", words.id);
  const form = document.createElement("form");
  form.method = "dialog";
  form.className = "dialog__buttons";
  form.append(choice("no", "Go back", "button"), choice("yes", yes, "button button--danger"));
  dialog.append(words, form);
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "yes");
    });
  });
}

function choice(value, words, style) {
  const button = document.createElement("button");
  button.value = value;
  button.className = style;
  button.textContent = words;
  return button;
}

const agreed = new WeakSet();

document.addEventListener(
  "submit",
  async (event) => {
    const form = event.target;
    const source = event.submitter?.dataset.confirm ? event.submitter : form;
    const question = source.dataset?.confirm;
    if (!question || agreed.delete(form)) {
      return;
    }
    event.preventDefault();
    event.stopImmediatePropagation();
    const submitter = event.submitter;
    if (await ask(question, source.dataset.confirmYes || "Yes")) {
      agreed.add(form);
      form.requestSubmit(submitter);
    }
  },
  { capture: true },
);
