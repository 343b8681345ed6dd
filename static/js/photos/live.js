// A page whose pictures are worked off tells it while it happens. Without this it is opened again.
//
// data-live      what is brought up to date
// data-live-on   on the same: it goes on as long as this is there

const PAUSES_MS = [1000, 1000, 2000, 2000, 3000];
const ALONE = "[data-live-alone]";

function pause(ms) {
  return new Promise((resolve) => {
    setTimeout(resolve, ms);
  });
}

async function fetched(url) {
  try {
    const answer = await fetch(url, { redirect: "error" });
    const text = answer.ok ? await answer.text() : "";
    return new DOMParser().parseFromString(text, "text/html").querySelector("[data-live]");
  } catch {
    return null; // no network just now; the next look may have it
  }
}

function place(into, found) {
  if (into.textContent === found.textContent) {
    return;
  }
  const held = into.contains(document.activeElement) && document.activeElement.getAttribute("href");
  into.replaceChildren(...found.children);
  if (held) {
    into.querySelector(`a[href="${CSS.escape(held)}"]`)?.focus();
  }
}

// Bring what a page tells into a place of this one, until it is over or wanted() says no.
// Gives whether it is over.
export async function follow(url, into, { wanted = () => true, within = false } = {}) {
  for (let turn = 0; wanted(); turn += 1) {
    const found = document.hidden ? null : await fetched(url);
    if (found && wanted()) {
      if (within) {
        found.querySelectorAll(`.pager, ${ALONE}`).forEach((one) => one.remove());
      }
      place(into, found);
      if (!("liveOn" in found.dataset)) {
        return true;
      }
    }
    await pause(PAUSES_MS[Math.min(turn, PAUSES_MS.length - 1)]);
  }
  return false;
}

const live = document.querySelector("[data-live][data-live-on]");
if (live) {
  follow(location.href, live);
}
