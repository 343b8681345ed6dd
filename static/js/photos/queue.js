// Pictures that are to be sent, a few at a time; what was not reached is tried again.

import { newKey } from "../scan/send.js";
import { judge } from "./send.js";

const AT_ONCE = 2;
const PAUSES_MS = [2000, 5000, 15000, 30000];

export class Queue {
  // send(shot, moved) gives { status, body }; changed(shot) hears of every change.
  constructor({ send, changed, most }) {
    Object.assign(this, { send, changed, most, shots: [], away: false, why: "", stopped: false });
    this.tries = 0;
    this.timer = 0;
    window.addEventListener("online", () => this.again());
  }

  add(files) {
    for (const file of files) {
      const shot = { key: newKey(), file, state: "waiting", part: 0, said: "" };
      if (file.size > this.most) {
        shot.state = "refused";
        shot.said = `It has more than ${Math.floor(this.most / 2 ** 20)} MB. Make it smaller and choose it again.`;
      }
      this.shots.push(shot);
      this.changed(shot);
    }
    this.go();
  }

  count(...states) {
    return this.shots.filter((shot) => states.includes(shot.state)).length;
  }

  // Those that the server has, whatever becomes of them there.
  get came() {
    return this.shots.filter((shot) => shot.kept).length;
  }

  get unsent() {
    return this.count("waiting", "sending");
  }

  again() {
    clearTimeout(this.timer);
    this.away = false;
    this.go();
  }

  go() {
    while (!this.away && !this.stopped && this.count("sending") < AT_ONCE) {
      const shot = this.shots.find((one) => one.state === "waiting");
      if (!shot) {
        return;
      }
      this.sendOne(shot);
    }
  }

  async sendOne(shot) {
    this.move(shot, { state: "sending", part: 0 });
    const answer = await this.send(shot, (part) => this.move(shot, { part }));
    const verdict = judge(answer);
    if (verdict === "in" || verdict === "refused") {
      this.tries = 0;
      const { id, said, message } = answer.body;
      this.move(shot, { state: verdict, part: 1, said: said ?? message, kept: Boolean(id) });
      shot.file = null; // the browser may let its bytes go
      this.go();
      return;
    }
    this.move(shot, { state: "waiting", part: 0 });
    if (verdict === "stopped") {
      this.stopped = true;
    } else {
      this.why = answer.body?.message ?? ""; // nothing where nobody answered
      if (!this.away) {
        this.later();
      }
    }
    this.changed(shot);
  }

  later() {
    this.away = true;
    const pause = PAUSES_MS[Math.min(this.tries, PAUSES_MS.length - 1)];
    this.tries += 1;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.again(), pause);
  }

  move(shot, news) {
    Object.assign(shot, news);
    this.changed(shot);
  }
}
