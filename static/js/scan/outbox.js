// Sending what waits, oldest first, one at a time; what was not reached is tried again.

import * as keeping from "./keep.js";
import * as machine from "./machine.js";
import { sendScan } from "./send.js";

const PAUSES_MS = [3000, 10000, 30000];
const OTHER_TAB_MS = 10000;

// box.state is read and written here and by the page. changed() hears of every change,
// told(scan, answer, verdict) of every answer.
export function outbox(box, { urlOf, token, now, told, changed }) {
  let sending = false;
  let tries = 0;
  let timer = 0;

  function later(ms) {
    clearTimeout(timer);
    timer = setTimeout(flush, ms);
  }

  function keep(scan) {
    box.kept = keeping.keep(scan) && box.kept;
  }

  function take(scan, answer) {
    const verdict = machine.judge(answer.status, answer.body);
    box.state = machine.answered(box.state, scan, answer, now());
    if (verdict === "refused" && machine.has(box.state, scan.key)) {
      keep({ ...scan, settle: true });
    } else if (verdict === "done" || verdict === "refused") {
      keeping.forget(scan.key);
    } else if (verdict === "stopped") {
      const known = { 401: "sign_in" }[answer.status] ?? answer.body?.code;
      box.stopped = known === "sign_in" || known === "other_person" ? known : "anew";
    }
    told(scan, answer, verdict);
    return verdict === "done" || verdict === "refused";
  }

  async function flush() {
    clearTimeout(timer);
    if (sending || box.stopped) {
      return;
    }
    sending = true;
    let goesOn = true;
    for (let scan = machine.next(box.state); scan && goesOn; scan = machine.next(box.state)) {
      goesOn = take(scan, await sendScan(urlOf(scan.act), scan, token));
      tries = goesOn ? 0 : tries + 1;
      changed();
    }
    sending = false;
    if (!goesOn && !box.stopped) {
      later(PAUSES_MS[Math.min(tries, PAUSES_MS.length) - 1]);
    }
  }

  window.addEventListener("online", flush);
  window.addEventListener("offline", () => {
    box.state = machine.choose(box.state, { away: true });
    changed();
  });
  window.addEventListener("storage", (event) => {
    if (keeping.isOurs(event)) {
      box.state = machine.merged(box.state, keeping.all());
      changed();
      later(OTHER_TAB_MS);
    }
  });
  window.addEventListener("beforeunload", (event) => {
    if (machine.waiting(box.state).length > 0 && (box.state.away || !box.kept)) {
      event.preventDefault();
    }
  });

  return {
    flush,
    add(scan) {
      keep(scan);
      box.state = machine.put(box.state, scan);
      changed();
      flush();
    },
    again(scan, at) {
      box.state = machine.again(box.state, scan.key, at);
      keep(box.state.queue.find((one) => one.key === scan.key));
      changed();
      flush();
    },
    drop(scan) {
      keeping.forget(scan.key);
      box.state = machine.dropped(box.state, scan.key);
      changed();
    },
  };
}
