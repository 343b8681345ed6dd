// Light, dark, or as the device says. The choice is kept on this device alone.

const KEY = "theme";

function chosen() {
  try {
    return localStorage.getItem(KEY) ?? "auto";
  } catch {
    return "auto";
  }
}

function keep(choice) {
  try {
    localStorage.setItem(KEY, choice);
  } catch {
    // A browser that keeps nothing still changes the page at hand.
  }
}

function apply(choice) {
  const root = document.documentElement;
  if (choice === "light" || choice === "dark") {
    root.dataset.theme = choice;
  } else {
    delete root.dataset.theme;
  }
  for (const button of document.querySelectorAll("[data-theme-choice]")) {
    button.setAttribute("aria-pressed", String(button.dataset.themeChoice === choice));
  }
}

function reveal() {
  for (const group of document.querySelectorAll("[data-theme-switch]")) {
    group.hidden = false;
  }
  apply(chosen());
}

apply(chosen());
if (document.readyState === "loading") {
  document.addEventListener("DOMContentLoaded", reveal);
} else {
  reveal();
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-theme-choice]");
  if (button) {
    keep(button.dataset.themeChoice);
    apply(button.dataset.themeChoice);
  }
});
