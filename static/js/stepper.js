// One more or one less, for thumbs. Without this the number is typed.

function bounds(input) {
  return {
    least: input.min === "" ? -Infinity : Number(input.min),
    most: input.max === "" ? Infinity : Number(input.max),
  };
}

function step(input, by) {
  const { least, most } = bounds(input);
  const start = input.value === "" ? Math.max(0, Number.isFinite(least) ? least - by : 0) : Number(input.value);
  input.value = String(Math.min(most, Math.max(least, start + by)));
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
}

function reveal(root) {
  for (const button of root.querySelectorAll("[data-stepper] [data-step]")) {
    button.hidden = false;
  }
}

reveal(document);
document.addEventListener("htmx:load", (event) => reveal(event.target));

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-step]");
  const input = button?.closest("[data-stepper]")?.querySelector("input");
  if (input) {
    step(input, Number(button.dataset.step));
  }
});
