// What the page shows of scans: words, lists, buttons. It decides nothing.

import { readText, showCode } from "./code.js";

const SHOWN_DONE = 20;
const TONES = { good: "notice--good", bad: "notice--wrong", kept: "notice--caution", plain: "" };
const STOPPED = {
  sign_in: "Sign in again, then open this page: what waits is sent then.",
  other_person: "Somebody else is signed in now. It waits here for the one who scanned it.",
  anew: "Open this page again: what waits is sent then.",
};

export function part(root, name) {
  return root.querySelector(`[data-scan-${name}]`);
}

// Large words for what was just read; screen readers hear them.
export function say(root, tone, words, more = "") {
  const panel = part(root, "said");
  panel.hidden = false;
  panel.removeAttribute("role");
  panel.className = `scan__said notice ${TONES[tone]}`;
  part(root, "words").textContent = words;
  part(root, "more").textContent = more;
  part(root, "back").hidden = true;
}

// Beside the large words, the same as a button below them: in sight while the camera is on.
export function offerBack(root, below) {
  const back = part(root, "back");
  back.hidden = false;
  back.textContent = below.textContent;
  back.onclick = () => below.click();
}

function button(words, go, style = "") {
  const made = document.createElement("button");
  made.type = "button";
  made.className = `button button--small ${style}`;
  made.textContent = words;
  made.addEventListener("click", () => go(made));
  return made;
}

function row(root, { code, url, name = "", said = "", buttons = [] }) {
  const made = part(root, "row").content.cloneNode(true).firstElementChild;
  const link = made.querySelector("[data-row-code]");
  link.textContent = showCode(code);
  if (url) {
    link.href = url;
  }
  made.querySelector("[data-row-name]").textContent = name;
  made.querySelector("[data-row-said]").textContent = said;
  made.querySelector("[data-row-buttons]").append(...buttons);
  return made;
}

// One more row on top of what was scanned here; undo(button) takes it back. Gives that button.
export function addDone(root, answer, { undo, moveHere }) {
  const buttons = [];
  if (answer.undo) {
    buttons.push(button(answer.undo.label, undo));
  }
  if (answer.rack && moveHere) {
    buttons.push(button("Move frags here", moveHere));
  }
  const list = part(root, "done-list");
  list.prepend(row(root, { ...answer, buttons }));
  while (list.children.length > SHOWN_DONE) {
    list.lastElementChild.remove();
  }
  part(root, "done").hidden = false;
  return buttons[0];
}

// What a text may mean, to tap on.
export function choices(root, found, choose) {
  const list = part(root, "choices");
  list.hidden = found.length === 0;
  list.replaceChildren(
    ...found.map((one) =>
      row(root, { ...one, said: one.place, buttons: [button("This one", () => choose(one))] }),
    ),
  );
}

// What is no whole code is looked for by the field that finds everything.
function pageOf(root, code) {
  const { findUrl } = root.dataset;
  return readText(code).is === "code" ? `/T/${code}` : `${findUrl}?${new URLSearchParams({ q: code })}`;
}

export function settle(root, scans, { again, drop, wordsOf }) {
  part(root, "settle").hidden = scans.length === 0;
  part(root, "settle-list").replaceChildren(
    ...scans.map((scan) =>
      row(root, {
        code: scan.code,
        url: pageOf(root, scan.code),
        name: wordsOf(scan),
        said: scan.words ?? "It was refused. Try it now to read why.",
        buttons: [button("Do it now", () => again(scan)), button("Drop it", () => drop(scan), "button--danger")],
      }),
    ),
  );
}

function counted(count) {
  return count === 1 ? "1 scan waits" : `${count} scans wait`;
}

// How many scans wait and why; nothing while they go out as they should.
export function waiting(root, { count, away, stopped, kept }) {
  const panel = part(root, "away");
  panel.hidden = !(count > 0 && (away || stopped)) && kept;
  part(root, "count").textContent = `${counted(count)} on this phone.`;
  const away_words = "They are sent in their order when the network is back. Go on scanning.";
  const words = stopped ? STOPPED[stopped] : away_words;
  const loose = "This browser keeps nothing: leave this page open until all is sent.";
  part(root, "why").textContent = kept ? words : `${words} ${loose}`;
  part(root, "send").hidden = Boolean(stopped);
}

export function others(root, count) {
  part(root, "others").hidden = count === 0;
  part(root, "others-said").textContent =
    `${counted(count)} on this phone for somebody else. ` +
    "They are sent when the one who scanned signs in here and opens this page.";
}

// The act that is chosen, and what is asked for it.
export function act(root, { act: name, asks }) {
  for (const link of root.querySelectorAll("[data-scan-act]")) {
    if (link.dataset.scanAct === name) {
      link.setAttribute("aria-current", "true");
      part(root, "do").textContent = link.dataset.button;
    } else {
      link.removeAttribute("aria-current");
    }
  }
  for (const piece of root.querySelectorAll("[data-scan-for]")) {
    const off = piece.dataset.scanFor !== asks;
    piece.hidden = off;
    for (const control of piece.matches("fieldset") ? [piece] : piece.querySelectorAll("select")) {
      control.disabled = off;
    }
  }
}
