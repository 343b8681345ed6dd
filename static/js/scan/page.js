// The page that scans stays open: codes come from the field, a handheld scanner or the camera.
// Without scripts the page's form sends one code at a time.

import { begin, NEEDS } from "./machine.js";
import { Session } from "./session.js";
import * as show from "./show.js";
import { wakeAtFirstTap } from "./sound.js";
import { offer } from "./viewer.js";

const TYPING = "textarea, select, [contenteditable], input:not([type=radio], [type=checkbox])";

// The server's clock, whatever the phone's says: the page brought its own moment along.
function clockOf(page) {
  const [visit] = performance.getEntriesByType("navigation");
  const arrived = performance.timeOrigin + (visit?.responseStart ?? 0);
  const ahead = Date.parse(page.dataset.now) - arrived;
  return () => Math.round(Date.now() + ahead);
}

function racksOf(page) {
  const options = [...page.querySelectorAll("[name=rack] option[data-name]")];
  return Object.fromEntries(options.map((one) => [one.value, one.dataset.name]));
}

function chosenOn(form) {
  const checked = (name) => form.querySelector(`[name=${name}]:checked`)?.value ?? "";
  const rack = form.querySelector("[name=rack]").value;
  return { rack, cause: checked("cause"), size: checked("size") };
}

// What is chosen stands in the page's address too, so that it can be kept as a bookmark.
function remember(state) {
  const need = NEEDS[state.act];
  const asked = new URLSearchParams({ do: state.act });
  if (need && state[need]) {
    asked.set(need, state[need]);
  }
  history.replaceState(null, "", `?${asked}`);
}

function listen(page, session, { form, field }) {
  let byTouch = false;
  page.addEventListener("pointerdown", () => {
    byTouch = true;
  });
  page.addEventListener("click", (event) => {
    const link = event.target.closest("[data-scan-act]");
    if (link) {
      event.preventDefault();
      session.choose({ act: link.dataset.scanAct });
    } else if (event.target.closest("[data-scan-send]")) {
      session.out.flush();
    }
  });
  form.addEventListener("change", (event) => {
    if (event.target !== field) {
      session.choose(chosenOn(form));
      // What a handheld types next is a code, not a choice.
      if (byTouch) {
        event.target.blur();
      }
    }
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const { kind } = session.take(field.value, "hand");
    if (kind === "refused") {
      field.select();
    } else {
      field.value = "";
    }
  });
  document.addEventListener("keydown", (event) => {
    byTouch = false;
    const isText = event.key.length === 1 && event.key !== " ";
    const isCommand = event.ctrlKey || event.metaKey || event.altKey;
    if (isText && !isCommand && !event.target.closest(TYPING)) {
      field.focus();
    }
  });
}

function start(page) {
  const form = show.part(page, "form");
  const field = show.part(page, "code");
  const token = page.querySelector("[name=csrfmiddlewaretoken]").value;
  const links = [...page.querySelectorAll("[data-scan-act]")];
  const ticks = [...form.querySelectorAll("[type=radio]")];
  const labels = new Map([
    ...links.map((one) => [one.dataset.scanAct, one.textContent.trim()]),
    ...ticks.map((one) => [one.value, one.labels[0].textContent.trim()]),
  ]);
  const act = page.querySelector("[data-scan-act][aria-current]").dataset.scanAct;
  const person = Number(page.dataset.person);
  const state = begin({ person, act, racks: racksOf(page), ...chosenOn(form) });
  const chosen = (now) => {
    show.act(page, { act: now.act, asks: NEEDS[now.act] });
    form.querySelector("[name=rack]").value = now.rack;
    remember(now);
  };
  const session = new Session(page, { state, token, labels, now: clockOf(page), chosen });
  field.required = false;
  listen(page, session, { form, field });
  offer(page, { token, told: (text) => session.take(text, "camera") });
  wakeAtFirstTap();
}

const page = document.querySelector("[data-scan]");
if (page) {
  start(page);
}
