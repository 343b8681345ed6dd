// How many pictures had come in when a page that sends them was left too early: the next pages of
// the same tab tell it, since nobody else knows how many were chosen.
//
// data-shots-left    hidden until there is something to tell: data-shots-left-said,
//                    data-shots-left-go

const KEY = "pictures left";

export function keepLeft({ url, came, total }) {
  try {
    sessionStorage.setItem(KEY, JSON.stringify({ url, came, total }));
  } catch {
    // A browser that keeps nothing has warned before the page was left.
  }
}

export function forgetLeft() {
  try {
    sessionStorage.removeItem(KEY);
  } catch {
    // Nothing was kept.
  }
}

function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY) ?? "null");
  } catch {
    return null;
  }
}

const place = document.querySelector("[data-shots-left]");
const left = kept();
if (place && left?.total > left?.came) {
  const go = place.querySelector("[data-shots-left-go]");
  place.querySelector("[data-shots-left-said]").textContent =
    `${left.came} of ${left.total} pictures had arrived when you left the page that sent them.`;
  go.href = left.url;
  go.hidden = left.came === 0 || location.pathname === left.url;
  // The page of other pictures has nothing to do with it.
  place.hidden = !["", left.url].includes(place.dataset.shotsLeft);
}
