// Choose many rows: count them, choose all of them, and wake what can be done with them.
//
// data-choose            the form or section that holds the rows' checkboxes
// data-choose-all        a checkbox in it that chooses all
// data-choose-count      where the count is said; data-one and data-many are its words
// data-choose-needed     buttons that rest while nothing is chosen

function boxes(area) {
  return [...area.querySelectorAll("input[type=checkbox]:not([data-choose-all]):not(:disabled)")];
}

function say(place, count) {
  const { one = "chosen", many = "chosen", none = "Nothing chosen" } = place.dataset;
  place.textContent = count === 0 ? none : `${count} ${count === 1 ? one : many}`;
}

function refresh(area) {
  const all = boxes(area);
  const count = all.filter((box) => box.checked).length;
  for (const place of area.querySelectorAll("[data-choose-count]")) {
    say(place, count);
  }
  for (const button of area.querySelectorAll("[data-choose-needed]")) {
    button.disabled = count === 0;
  }
  for (const master of area.querySelectorAll("[data-choose-all]")) {
    master.checked = count > 0 && count === all.length;
    master.indeterminate = count > 0 && count < all.length;
  }
}

function refreshAll() {
  for (const area of document.querySelectorAll("[data-choose]")) {
    refresh(area);
  }
}

document.addEventListener("change", (event) => {
  const area = event.target.closest("[data-choose]");
  if (!area) {
    return;
  }
  if (event.target.matches("[data-choose-all]")) {
    for (const box of boxes(area)) {
      box.checked = event.target.checked;
    }
  }
  refresh(area);
});

document.addEventListener("htmx:load", refreshAll);
window.addEventListener("pageshow", refreshAll);
