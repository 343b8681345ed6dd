// The camera on the page: its buttons, its words, and resting while nobody looks at the page.

import * as camera from "./camera.js";
import { readFrame } from "./send.js";
import { part } from "./show.js";

const OFFER = "Type the code, or use a handheld scanner.";
const WORDS = {
  insecure: `Browsers give the camera to pages with an https address alone. ${OFFER}`,
  old: `This browser gives pages no camera. ${OFFER}`,
  refused: `The camera was refused. Allow it in the browser's settings for this page. ${OFFER}`,
  none: `No camera was found. ${OFFER}`,
  busy: `Another program holds the camera. Close it and start again. ${OFFER}`,
  other: `The camera does not start. ${OFFER}`,
  away: `Without the network this browser cannot read by the camera. ${OFFER}`,
  on: "Hold a label in the frame.",
};

// Offer the camera; told(text) hears each code that it sees, again and again.
export function offer(root, { token, told }) {
  const video = part(root, "video");
  const state = { track: null, turn: 0, rests: false };

  function say(key) {
    part(root, "camera-said").textContent = WORDS[key] ?? "";
  }

  function show(on) {
    part(root, "frame").hidden = !on;
    part(root, "start").hidden = on;
    part(root, "stop").hidden = !on;
    part(root, "light").hidden = !(on && camera.hasLight(state.track));
  }

  async function ask(picture) {
    const { body } = await readFrame(root.dataset.frameUrl, picture, token);
    return body?.ok ? body.texts : null;
  }

  function hear(texts) {
    say(texts ? "on" : "away");
    for (const text of texts ?? []) {
      told(text);
    }
  }

  function stop() {
    state.turn += 1;
    state.track = null;
    camera.close(video);
    show(false);
    say("");
  }

  async function start() {
    const obstacle = camera.obstacle();
    if (obstacle) {
      say(obstacle);
      return;
    }
    stop();
    const turn = state.turn;
    try {
      part(root, "frame").hidden = false;
      state.track = await camera.open(video);
    } catch (error) {
      stop();
      say(camera.troubleOf(error));
      return;
    }
    if (turn !== state.turn) {
      camera.close(video);
      return;
    }
    show(true);
    say("on");
    const detector = await camera.ownDetector();
    await camera.watch(video, { detector, ask, told: hear, stillOn: () => turn === state.turn });
  }

  part(root, "camera").hidden = false;
  part(root, "start").addEventListener("click", start);
  part(root, "stop").addEventListener("click", stop);
  part(root, "light").addEventListener("click", ({ currentTarget }) => {
    const on = currentTarget.getAttribute("aria-pressed") !== "true";
    currentTarget.setAttribute("aria-pressed", String(on));
    camera.light(state.track, on);
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) {
      state.rests = state.track !== null;
      stop();
    } else if (state.rests) {
      start();
    }
  });
  if (camera.obstacle()) {
    say(camera.obstacle());
    part(root, "start").hidden = true;
  }
}
