// The form that files one picture under a piece: sent by script, so that what was chosen is kept
// while nobody answers, and goes by itself once somebody does. Without this the browser sends it.
//
// data-shot              the form; data-most is how many bytes are taken
// data-shot-panel        what is shown while it is sent: data-shot-said, data-shot-progress,
//                        data-shot-again

import { Queue } from "./queue.js";
import { sendShot } from "./send.js";

const KEPT = "The picture is kept here and goes by itself. Leave this page open.";
const SAID = {
  sending: "Being sent…",
  stopped: "Sign in again, then choose the picture once more. It was not filed.",
  in: "It is filed.",
};

// What was filed before, its answer having been lost, is told by the page it led to.
function ledOn({ status, body, url }) {
  const path = url ? new URL(url).pathname : "";
  return status === 200 && !body && /^\/(T|photos)\//u.test(path);
}

class Shot {
  constructor(form) {
    this.form = form;
    this.panel = form.querySelector("[data-shot-panel]");
    this.queue = new Queue({
      most: Number(form.dataset.most),
      send: (shot, moved) => this.send(shot, moved),
      changed: (shot) => this.changed(shot),
    });
    this.part("again").addEventListener("click", () => this.queue.again());
    form.addEventListener("submit", (event) => this.take(event));
    window.addEventListener("beforeunload", (event) => {
      if (this.queue.unsent > 0 && !this.queue.stopped) {
        event.preventDefault();
      }
    });
  }

  part(name) {
    return this.panel.querySelector(`[data-shot-${name}]`);
  }

  take(event) {
    const { picture, caption } = this.form.elements;
    const [file] = picture.files;
    if (!file) {
      return; // the page that answers asks for one
    }
    event.preventDefault();
    if (this.queue.unsent === 0) {
      this.caption = caption.value;
      this.queue.shots = [];
      this.queue.add([file]);
    }
  }

  async send(shot, moved) {
    const fields = { caption: this.caption, replay_key: shot.key };
    const token = this.form.elements.csrfmiddlewaretoken.value;
    const told = { fields, file: shot.file, token, moved, name: "picture" };
    const answer = await sendShot(this.form.action, told);
    const filed = ledOn(answer) ? { ...answer, body: { ok: true, url: answer.url } } : answer;
    this.next = filed.body?.url;
    return filed;
  }

  words(shot) {
    const { queue } = this;
    if (shot.state === "refused") {
      return shot.said;
    }
    if (queue.stopped) {
      return SAID.stopped;
    }
    return queue.away ? `${queue.why || "No network."} ${KEPT}` : SAID[shot.state] ?? SAID.sending;
  }

  changed(shot) {
    const said = this.part("said");
    const text = this.words(shot);
    if (said.textContent !== text) {
      said.textContent = text;
    }
    this.panel.hidden = false;
    this.part("progress").value = shot.part;
    this.part("progress").hidden = shot.state !== "sending";
    this.part("again").hidden = !this.queue.away;
    if (shot.state === "in") {
      location.assign(this.next);
    }
  }
}

for (const form of document.querySelectorAll("form[data-shot]")) {
  new Shot(form);
}
