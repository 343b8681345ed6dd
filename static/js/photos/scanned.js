// What this browser scanned or opened by its label lately: codes with their moments by the
// phone's own clock, which is also the one that dates its pictures. Sent along with pictures,
// so that one without a readable label can be guessed; forgotten at signing out.
//
// data-scanned-code   on a page that a label opened: its code

import { readText } from "../scan/code.js";

const KEY = "scanned lately";
const MOST = 50;

function isScan(one) {
  return Array.isArray(one) && one.length === 2 && one.every((text) => typeof text === "string");
}

// Pairs of code and moment, the latest last.
export function all() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(kept) ? kept.filter(isScan).slice(-MOST) : [];
  } catch {
    return [];
  }
}

export function note(text) {
  const { is, mark } = readText(text);
  if (is !== "code") {
    return;
  }
  try {
    const others = all().filter(([code]) => code !== mark);
    const kept = [...others, [mark, new Date().toISOString()]].slice(-MOST);
    localStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // A browser that keeps nothing: the pictures are filed by hand without this.
  }
}

export function forgetAll() {
  try {
    localStorage.removeItem(KEY);
  } catch {
    // Nothing was kept.
  }
}

const opened = document.querySelector("[data-scanned-code]");
if (opened) {
  note(opened.dataset.scannedCode);
}
