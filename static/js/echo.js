// Say beside a button what is chosen elsewhere in its form: data-echo names the question.

function say(place) {
  const chosen = place.closest("form")?.querySelector(`[name="${place.dataset.echo}"]:checked`);
  const words = chosen?.labels?.[0]?.textContent.trim().toLowerCase();
  place.textContent = words ? `, ${words}` : "";
}

function sayAll() {
  for (const place of document.querySelectorAll("[data-echo]")) {
    say(place);
  }
}

document.addEventListener("change", sayAll);
window.addEventListener("pageshow", sayAll);
