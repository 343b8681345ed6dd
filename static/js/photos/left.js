// How many pictures had come in when the page that sends them was left too early. Nobody else
// knows how many were chosen, so the page's place in the tab's history remembers it, which a
// reload and the way back lead to again; the link from there tells it to the pictures' own page.
//
// data-shots-left    hidden until there is something to tell: data-shots-left-said,
//                    data-shots-left-go

const TOLD = /^#(\d{1,4})-of-(\d{1,4})$/u;

let last = null;

export function keepLeft(left) {
  const now = left && `${left.came} ${left.total}`;
  if (now === last) {
    return;
  }
  try {
    history.replaceState({ ...history.state, left }, "");
    last = now;
  } catch {
    // Some browsers take a hundred of these in half a minute; the next picture tells it.
  }
}

function known() {
  const [, came, total] = TOLD.exec(location.hash) ?? [];
  return total ? { url: location.pathname, came: Number(came), total: Number(total) } : history.state?.left;
}

const place = document.querySelector("[data-shots-left]");
const left = known();
if (place && left?.total > left?.came) {
  const go = place.querySelector("[data-shots-left-go]");
  place.querySelector("[data-shots-left-said]").textContent =
    `${left.came} of ${left.total} pictures had arrived when the page that sent them was left.`;
  go.href = `${left.url}#${left.came}-of-${left.total}`;
  go.hidden = left.came === 0 || location.pathname === left.url;
  place.hidden = false;
}
