// What was worked out counts until something is changed that goes into it.
//
// data-anew          the form that shows a result
// data-anew-source   what the result comes from: a change in it makes the result stale
// data-anew-fresh    shown while the result counts
// data-anew-stale    shown instead once it does not; without this script it stays hidden

function turn(form, stale) {
  for (const part of form.querySelectorAll("[data-anew-fresh]")) {
    part.hidden = stale;
  }
  for (const part of form.querySelectorAll("[data-anew-stale]")) {
    part.hidden = !stale;
  }
}

document.addEventListener("input", (event) => {
  const form = event.target.closest("[data-anew-source]")?.closest("[data-anew]");
  if (form) {
    turn(form, true);
  }
});
