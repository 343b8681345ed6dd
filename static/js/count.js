// Counting a rack: what is scanned or typed is ticked, and what is ticked is kept on the way,
// so that a phone which sleeps or loses its line loses nothing. Without this the codes are read
// when the form is sent.
//
// data-count        on the form: where it is kept
// data-count-said   where it is said what was read
// data-code         on the tick of a frag: its code

import { newKey } from "./scan/send.js";

const PAUSE_MS = 1500;
const LOOK_ALIKES = { O: "0", I: "1", L: "1" };
const form = document.querySelector("[data-count]");

function folded(text) {
  const plain = text.toUpperCase().replace(/^HTTPS?:.*\/T\//, "").replace(/[^0-9A-Z]/g, "");
  return plain.replace(/[OIL]/g, (letter) => LOOK_ALIKES[letter]);
}

function start() {
  const field = form.querySelector("input[name=what]");
  const said = form.querySelector("[data-count-said]");
  const ticks = [...form.querySelectorAll("[data-code]")];
  let waiting = 0;
  let gone = false;

  function say(text) {
    said.textContent = text;
  }

  function take(text) {
    const code = folded(text);
    const meant = ticks.filter((tick) => (code.length === 3 ? tick.dataset.code.endsWith(code) : tick.dataset.code === code));
    if (meant.length !== 1) {
      return false;
    }
    say(meant[0].checked ? `${code} is ticked already` : `${code} is there`);
    meant[0].checked = true;
    meant[0].dispatchEvent(new Event("change", { bubbles: true }));
    return true;
  }

  async function keep() {
    if (gone) {
      return;
    }
    const data = new FormData(form);
    data.set("replay_key", newKey());
    data.set("then", "later");
    data.set("what", "");
    const headers = { Accept: "application/json" };
    await fetch(form.dataset.count, { method: "POST", body: data, headers, redirect: "manual", keepalive: true }).catch(() => null);
  }

  function soon() {
    clearTimeout(waiting);
    waiting = setTimeout(keep, PAUSE_MS);
  }

  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing) {
      return;
    }
    event.preventDefault();
    const left = field.value.split(/[\s,]+/).filter((text) => text && !take(text));
    if (left.length > 0) {
      say(`${left.join(" ")} is not one of this rack: it is looked up when you compare`);
    }
    field.value = left.length > 0 ? `${left.join(" ")} ` : "";
  });

  form.addEventListener("change", (event) => event.target !== field && soon());
  form.addEventListener("submit", () => {
    gone = true;
    clearTimeout(waiting);
  });
  document.addEventListener("visibilitychange", () => document.hidden && waiting && keep());
}

if (form) {
  start();
}
