// One visit to the page: what is read goes to the machine, what that says is shown and sent.

import { note } from "../photos/scanned.js";
import { showCode } from "./code.js";
import * as keeping from "./keep.js";
import * as machine from "./machine.js";
import { outbox } from "./outbox.js";
import { lookUp, newKey } from "./send.js";
import * as show from "./show.js";
import { sound } from "./sound.js";

export class Session {
  // labels: the words of each act, cause and size; now(): the server's moment in ms.
  constructor(page, { state, token, labels, now, chosen }) {
    Object.assign(this, { page, labels, now, chosen, latest: "" });
    this.box = { state: machine.merged(state, keeping.all()), stopped: "", kept: true };
    this.out = outbox(this.box, {
      ...{ token, now },
      urlOf: (act) => page.getAttribute(`data-url-${act}`),
      told: (scan, answer, verdict) => this.told(scan, answer, verdict),
      changed: () => this.changed(),
    });
    this.changed();
    this.out.flush();
  }

  choose(chosen) {
    this.box.state = machine.choose(this.box.state, chosen);
    this.chosen(this.box.state);
  }

  take(text, by) {
    const key = newKey();
    const { state, out } = machine.read(this.box.state, { text, by, at: this.now(), key });
    this.box.state = state;
    if (out.kind === "again" && by === "camera") {
      return out;
    }
    this.latest = key;
    show.choices(this.page, [], () => {});
    this[out.kind](out);
    return out;
  }

  // What the machine may say of a text that was read, each under its own name.

  again({ mark }) {
    show.say(this.page, "plain", showCode(mark), "Counted once: it was scanned a moment ago.");
  }

  strange() {
    this.refuse("That is none of our labels.");
  }

  refused({ words, mark }) {
    this.refuse(words, showCode(mark));
  }

  rack({ code, name }) {
    sound("rack");
    show.say(this.page, "good", name, "Now scan the frags that go there.");
    this.choose({ rack: code });
  }

  scan({ scan }) {
    sound("good");
    show.say(this.page, "plain", showCode(scan.code), "Sending…");
    this.out.add(scan);
    if (this.box.state.away || this.box.stopped) {
      this.keepsWaiting();
    }
  }

  async look({ code }) {
    sound("good");
    show.say(this.page, "plain", showCode(code), "Looking it up…");
    const key = this.latest;
    const { status, body } = await lookUp(this.page.dataset.lookUrl, code);
    const verdict = machine.judge(status, body);
    this.box.state = machine.choose(this.box.state, { away: verdict === "unreached" });
    if (verdict === "done") {
      this.done({ key }, body);
    } else if (verdict === "refused") {
      this.refuse(body.message);
      show.choices(this.page, body.choices ?? [], (found) => this.take(found.code, "hand"));
    } else if (verdict === "stopped") {
      this.refuse("Sign in again, then open this page.");
    } else {
      this.refuse(showCode(code), "Without the network it cannot be looked up. Other scans are kept.");
    }
    this.changed();
  }

  refuse(words, more = "") {
    sound("bad");
    show.say(this.page, "bad", words, more);
  }

  // What came back from the server.

  told(scan, { body }, verdict) {
    if (verdict === "done") {
      this.done(scan, body);
    } else if (verdict === "refused") {
      this.refuse(body.message, `${showCode(scan.code)}, ${this.wordsOf(scan)}`);
      show.choices(this.page, body.choices ?? [], (found) => {
        this.out.drop(scan);
        this.take(found.code, "hand");
      });
    } else {
      this.keepsWaiting();
    }
  }

  // The one that was scanned last may wait behind the one that did not arrive.
  keepsWaiting() {
    const last = machine.waiting(this.box.state).find((one) => one.key === this.latest);
    if (last) {
      show.say(this.page, "kept", showCode(last.code), "Kept on this phone until it can be sent.");
    }
  }

  done(scan, answer) {
    note(answer.code);
    const button = show.addDone(this.page, answer, {
      undo: (pressed) => this.takeBack(answer, pressed),
      moveHere: this.labels.has("move") && (() => this.choose({ act: "move", rack: answer.rack })),
    });
    if (scan.key === this.latest) {
      show.say(this.page, "good", answer.name, `${answer.shown}: ${answer.said}`);
      if (button) {
        show.offerBack(this.page, button);
      }
    }
  }

  takeBack(answer, button) {
    button.disabled = true;
    this.latest = newKey();
    const { label, ...how } = answer.undo;
    const { person } = this.box.state;
    this.out.add({ key: this.latest, person, code: answer.code, at: this.now(), ...how });
  }

  wordsOf(scan) {
    const what = this.labels.get(scan.act) ?? "Take it back";
    const where = scan.rack && (this.box.state.racks[scan.rack] ?? showCode(scan.rack));
    const more = where ?? this.labels.get(scan.size ?? scan.cause);
    return more ? `${what}: ${more}` : what;
  }

  changed() {
    const { state, stopped, kept } = this.box;
    show.waiting(this.page, {
      ...{ count: machine.waiting(state).length, away: state.away },
      ...{ stopped, kept },
    });
    show.others(this.page, machine.ofOthers(state).length);
    show.settle(this.page, machine.unsettled(state), {
      wordsOf: (scan) => this.wordsOf(scan),
      again: (scan) => this.out.again(scan, this.now()),
      drop: (scan) => this.out.drop(scan),
    });
  }
}
