// The page that measures a frag in a photo: one tap on the coral, look, save.

import { makeDesk } from "./desk.js";
import { across, measure, sentence, surface, tall, unsure } from "./figures.js";
import { makeHands } from "./hands.js";
import { listenToKeys } from "./keys.js";
import { makeModel } from "./model.js";
import { makePaint } from "./paint.js";
import { makeRoom } from "./room.js";
import { makeSaving } from "./save.js";
import { post, wrong } from "./send.js";
import { makeStage } from "./stage.js";
import { listen } from "./touch.js";

const HINTS = {
  tap: "Tap the coral.",
  edit: "Drag points; tap the line for more.",
  draw: "Tap around the coral, point by point.",
  heads: "Tap each head; tap a mark to undo it.",
  scale: "Tap both ends of a length you know.",
  length: "Type below how long that is.",
  scaled: "Drag the ends, or choose Tap and tap the coral.",
};
const SAY_WAIT_MS = 600;

function start(root) {
  const desk = makeDesk(root);
  const { facts, form, part, tell } = desk;
  const svg = part("picture");
  const state = { mode: "", cross: null, seed: null, chosen: -1, found: null, isWrong: false, isBusy: false };
  const stage = makeStage(svg, facts.picture, () => refresh());
  const paint = makePaint(svg, part("loupe"), stage);
  const model = makeModel(facts.kept, heard);
  const view = () => desk.view(model.ends);
  let timer = 0;

  // Say a size to who listens, once the hand rests.
  function sayLater() {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const known = state.found ? sentence(state.found) : "";
      part("live").textContent = state.isWrong ? facts.words.crosses : known;
    }, SAY_WAIT_MS);
  }

  function showFigures() {
    const known = state.found && !state.isWrong;
    part("across").textContent = known ? across(state.found) : "–";
    part("area").textContent = known ? surface(state.found) : "–";
    part("unsure").textContent = known ? unsure(state.found) : "";
    part("tall").textContent = tall(desk.height());
    part("heads").textContent = model.heads.length ? String(model.heads.length) : "";
    part("undo").disabled = !model.canUndo;
    part("redo").disabled = !model.canRedo;
    part("save").disabled = !(model.handles.length || model.heads.length);
  }

  function refresh({ isNew = false } = {}) {
    if (isNew) {
      state.found = measure(model.handles, {
        view: view(),
        height: desk.height(),
        throughWater: desk.throughWater(),
        sigmas: facts.sigmas,
      });
      state.isWrong = Boolean(state.found?.isWrong());
      showFigures();
      sayLater();
    }
    paint.show({
      handles: model.handles,
      heads: model.heads,
      ends: model.ends,
      curve: state.found?.curve ?? [],
      isWrong: state.isWrong,
      isEdited: state.mode === "edit" || state.mode === "draw",
      cross: svg.matches(":focus-visible") ? state.cross : state.seed,
    });
  }

  // What was drawn has changed, or was taken back: what a tap does follows.
  function heard() {
    const hasOutline = Boolean(model.handles.length);
    if (state.mode === (hasOutline ? "tap" : "edit")) {
      setMode(hasOutline ? "edit" : first());
    } else {
      refresh({ isNew: true });
    }
    if (state.mode === "scale" && model.ends.length > 1) {
      part("hint").textContent = HINTS[view() ? "scaled" : "length"];
    }
  }

  const first = () => (view() ? "tap" : "scale");

  function setMode(mode) {
    state.mode = mode;
    for (const button of root.querySelectorAll("[data-measure-mode]")) {
      button.setAttribute("aria-pressed", String(button.dataset.measureMode === mode));
    }
    part("hint").textContent = HINTS[mode];
    refresh({ isNew: true });
  }

  function lookAtOutline() {
    const [xs, ys] = [0, 1].map((axis) => model.handles.map((point) => point[axis]));
    stage.lookAt([Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)]);
  }

  function wait(point) {
    [state.isBusy, state.seed] = [Boolean(point), point];
    svg.setAttribute("aria-busy", String(state.isBusy));
    refresh();
  }

  async function suggest(point) {
    if (state.isBusy) {
      return;
    }
    if (!view()) {
      tell(facts.words.no_scale, true);
      return;
    }
    tell("Looking for the outline…");
    wait(point);
    const [x, y] = point;
    const answer = await post(facts.suggest_url, { x, y, ...desk.sent(model.ends) }, desk.token());
    wait(null);
    const error = wrong(answer);
    tell(error, Boolean(error));
    if (!error) {
      model.begin();
      model.outline(answer.body.handles, "suggested");
      desk.problems([...facts.problems, ...answer.body.problems]);
      setMode("edit");
      lookAtOutline();
    }
  }

  const hands = makeHands({ desk, model, stage, paint, state, view, suggest, refresh });
  listen(svg, stage, hands.touch);
  listenToKeys(svg, { ...hands.keys, leave: () => part("save").focus() }, paint.indexOf);
  makeSaving({ desk, model, isMeasured: () => Boolean(state.found) });

  for (const button of root.querySelectorAll("[data-measure-mode]")) {
    button.addEventListener("click", () => {
      if (button.dataset.measureMode === "draw" && model.handles.length) {
        model.begin();
        model.outline([], "drawn");
      }
      setMode(button.dataset.measureMode);
    });
  }
  const acts = {
    undo: () => hands.keys.undo(),
    redo: () => hands.keys.redo(),
    remove: () => hands.keys.remove(state.chosen),
    closer: () => stage.zoom(1.5),
    wider: () => stage.zoom(1 / 1.5),
    all: () => stage.all(),
  };
  for (const [name, act] of Object.entries(acts)) {
    part(name).addEventListener("click", act);
  }
  for (const button of root.querySelectorAll("[data-measure-height]")) {
    button.addEventListener("click", () => {
      form.elements.height_mm.value = button.dataset.measureHeight;
      refresh({ isNew: true });
    });
  }
  form.addEventListener("input", () => {
    tell("");
    refresh({ isNew: true });
  });
  form.addEventListener("change", () => {
    if (state.mode === "scale" && view()) {
      setMode("tap");
    }
  });
  svg.addEventListener("focus", () => refresh());
  svg.addEventListener("blur", () => refresh());

  for (const one of root.querySelectorAll("[data-measure-scripted]")) {
    one.hidden = false;
  }
  const [left, top, right, bottom] = facts.picture.focus;
  state.cross = [(left + right) / 2, (top + bottom) / 2];
  desk.problems(facts.problems);
  stage.lookAt(facts.picture.focus);
  setMode(model.handles.length ? "edit" : first());
  if (model.handles.length) {
    lookAtOutline();
  }
  makeRoom(part);
}

const root = document.querySelector("[data-measure]");
if (root) {
  start(root);
}
