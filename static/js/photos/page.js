// The page that sends pictures: what is taken or chosen goes out at once, each by itself, and
// what becomes of each is told below. Without this the page's form sends them all together.

import { keepLeft } from "./left.js";
import { follow } from "./live.js";
import { Queue } from "./queue.js";
import { all } from "./scanned.js";
import { sendShot } from "./send.js";

const SAID = { waiting: "Waits to be sent", sending: "Being sent…", refused: "Refused: " };

function part(root, name) {
  return root.querySelector(`[data-shots-${name}]`);
}

function words(queue) {
  const { came, unsent } = queue;
  const total = came + unsent;
  const left = queue.shots.length - total;
  if (queue.stopped) {
    return "Sign in again, then choose the pictures that are left once more.";
  }
  if (queue.away) {
    const why = queue.why ? `${queue.why} The` : "No network: the";
    return `${came} of ${total} sent. ${why} others wait here and go on by themselves. Leave this page open.`;
  }
  const without = left ? `, ${left} left out` : "";
  return unsent ? `${came} of ${total} sent${without}` : `All sent: ${came}${without}`;
}

class Page {
  constructor(root) {
    this.root = root;
    this.form = part(root, "form");
    this.rows = new Map();
    this.turn = 0;
    this.queue = new Queue({
      most: Number(root.dataset.most),
      send: (shot, moved) => this.send(shot, moved),
      changed: (shot) => this.changed(shot),
    });
    part(root, "send").hidden = true;
    part(root, "again").addEventListener("click", () => this.queue.again());
    this.form.addEventListener("submit", (event) => event.preventDefault());
    this.form.addEventListener("change", ({ target }) => this.take(target));
    window.addEventListener("beforeunload", (event) => {
      if (this.queue.unsent > 0 && !this.queue.stopped) {
        event.preventDefault();
      }
    });
  }

  take(input) {
    if (input.type === "file") {
      const files = [...input.files];
      input.value = "";
      this.queue.add(files);
    }
  }

  fields(shot) {
    const { key, rack } = this.form.elements;
    // The same for all, so that one that is sent again is known again.
    this.scanned ??= JSON.stringify(all());
    return { key: key.value, rack: rack.value, scanned: this.scanned, replay_key: shot.key };
  }

  send(shot, moved) {
    const token = this.form.elements.csrfmiddlewaretoken.value;
    return sendShot(this.form.action, { fields: this.fields(shot), file: shot.file, token, moved });
  }

  row(shot) {
    if (!this.rows.has(shot)) {
      const made = part(this.root, "row").content.cloneNode(true).firstElementChild;
      made.querySelector("[data-shot-name]").textContent = shot.file.name;
      part(this.root, "list").append(made);
      this.rows.set(shot, made);
    }
    return this.rows.get(shot);
  }

  changed(shot) {
    const row = this.row(shot);
    row.hidden = Boolean(shot.kept); // told below, with those that came in
    row.querySelector("[data-shot-said]").textContent = `${SAID[shot.state] ?? ""}${shot.said ?? ""}`;
    const bar = row.querySelector("[data-shot-progress]");
    bar.value = shot.part;
    bar.hidden = shot.state !== "sending";
    this.sum();
  }

  sum() {
    const { queue, root } = this;
    this.keep();
    part(root, "panel").hidden = queue.shots.length === 0;
    const said = part(root, "said");
    const text = words(queue);
    if (said.textContent !== text) {
      said.textContent = text;
    }
    const bar = part(root, "progress");
    bar.max = queue.shots.length;
    bar.value = queue.shots.length - queue.unsent;
    part(root, "again").hidden = !queue.away;
    part(root, "list").hidden = queue.shots.every((one) => one.kept);
    const { came } = queue;
    part(document, "none")?.toggleAttribute("hidden", came > 0);
    part(root, "go").hidden = came === 0;
    if (came > this.came) {
      this.follow();
    }
    this.came = came;
  }

  // For who leaves this page before all are sent.
  keep() {
    const { came, unsent } = this.queue;
    if (unsent > 0) {
      keepLeft({ url: this.root.dataset.batchUrl, came, total: came + unsent });
      return;
    }
    keepLeft(null);
    part(document, "left").hidden = true;
  }

  // Tell what became of those that came in, anew with each that does.
  async follow() {
    this.turn += 1;
    const turn = this.turn;
    const url = this.root.dataset.batchUrl;
    part(this.root, "go").href = url;
    await follow(url, part(this.root, "live"), { wanted: () => turn === this.turn, within: true });
  }

  came = 0;
}

const root = document.querySelector("[data-shots]");
if (root) {
  new Page(root);
}
