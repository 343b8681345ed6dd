// The page that measures a frag in a photo: one tap on the coral, look, save.

import { across, measure, sentence, surface, unsure } from "./figures.js";
import { makeHands } from "./hands.js";
import { listenToKeys } from "./keys.js";
import { makeModel } from "./model.js";
import { makePaint } from "./paint.js";
import { makeSaving } from "./save.js";
import { post, wrong } from "./send.js";
import { makeStage } from "./stage.js";
import { listen } from "./touch.js";
import { viewByHand } from "./view.js";

const HINTS = {
  tap: "Tap the coral.",
  edit: "Drag points; tap the line for more.",
  draw: "Tap around the coral, point by point.",
  heads: "Tap each head; tap a mark to undo it.",
  scale: "Tap both ends of a length you know.",
};
const SAY_WAIT_MS = 600;

const root = document.querySelector("[data-measure]");
const part = (name) => root.querySelector(`[data-measure-${name}]`);
const facts = JSON.parse(root.dataset.measure);
const svg = part("picture");
const form = part("form");
const state = { mode: "", cross: null, chosen: -1, found: null, isBusy: false, timer: 0 };

const stage = makeStage(svg, facts.picture, () => refresh());
const paint = makePaint(svg, part("loupe"), stage);
const model = makeModel(facts.kept, () => refresh({ isNew: true }));

function height() {
  const text = form.elements.height_mm.value.trim();
  return text === "" ? NaN : Number(text.replace(",", "."));
}

function view() {
  const length = Number(form.elements.length_mm.value.replace(",", "."));
  return facts.view ?? (model.ends.length > 1 ? viewByHand(model.ends, length, facts.lens) : null);
}

function tell(text, isWrong = false) {
  part("said").textContent = text;
  part("said-box").classList.toggle("notice--wrong", isWrong);
  part("said-box").hidden = !text;
}

function problems(list) {
  part("problems").replaceChildren(
    ...list.map(({ text }) => Object.assign(document.createElement("li"), { textContent: text })),
  );
  part("problems-box").hidden = !list.length;
}

// Say a size to who listens, once the hand rests.
function sayLater() {
  clearTimeout(state.timer);
  state.timer = setTimeout(() => {
    part("live").textContent = state.isWrong ? facts.words.crosses : state.found ? sentence(state.found) : "";
  }, SAY_WAIT_MS);
}

function refresh({ isNew = false } = {}) {
  if (isNew) {
    const given = { view: view(), height: height(), sigmas: facts.sigmas };
    state.found = measure(model.handles, { ...given, throughWater: form.elements.through_water.checked });
    state.isWrong = Boolean(state.found?.isWrong());
    const known = state.found && !state.isWrong;
    part("across").textContent = known ? across(state.found) : "–";
    part("area").textContent = known ? surface(state.found) : "–";
    part("unsure").textContent = known ? unsure(state.found) : "";
    part("heads").textContent = model.heads.length ? String(model.heads.length) : "";
    part("undo").disabled = !model.canUndo;
    part("redo").disabled = !model.canRedo;
    part("save").disabled = !(model.handles.length || model.heads.length);
    sayLater();
  }
  paint.show({
    ...{ handles: model.handles, heads: model.heads, ends: model.ends },
    curve: state.found?.curve ?? [],
    isWrong: Boolean(state.isWrong),
    isEdited: state.mode === "edit" || state.mode === "draw",
    cross: svg.matches(":focus-visible") ? state.cross : state.seed,
  });
}

function setMode(mode) {
  state.mode = mode;
  for (const button of root.querySelectorAll("[data-measure-mode]")) {
    button.setAttribute("aria-pressed", String(button.dataset.measureMode === mode));
  }
  part("hint").textContent = HINTS[mode];
  refresh({ isNew: true });
}

async function suggest(point) {
  if (state.isBusy) {
    return;
  }
  if (!view()) {
    tell(facts.words.no_scale, true);
    return;
  }
  [state.isBusy, state.seed] = [true, point];
  svg.setAttribute("aria-busy", "true");
  tell("Looking for the outline…");
  refresh();
  const fields = { x: point[0], y: point[1], height_mm: height(), ...hand() };
  if (form.elements.through_water.checked) {
    fields.through_water = "on";
  }
  const answer = await post(facts.suggest_url, fields, form.elements.csrfmiddlewaretoken.value);
  [state.isBusy, state.seed] = [false, null];
  svg.removeAttribute("aria-busy");
  const error = wrong(answer);
  if (error) {
    tell(error, true);
    refresh();
    return;
  }
  model.begin();
  model.outline(answer.body.handles, "suggested");
  problems([...facts.problems, ...answer.body.problems]);
  setMode("edit");
  tell("");
  show();
}

// The two ends of a length that was set by hand, as they are sent.
function hand() {
  if (facts.view || model.ends.length < 2) {
    return {};
  }
  return { ends: JSON.stringify(model.ends), length_mm: form.elements.length_mm.value };
}

function show() {
  const [xs, ys] = [0, 1].map((axis) => model.handles.map((point) => point[axis]));
  stage.lookAt([Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)]);
}

const hands = makeHands({ model, stage, paint, state, view, height, tell, suggest, refresh, words: facts.words });
listen(svg, stage, hands.touch);
listenToKeys(svg, { ...hands.keys, leave: () => part("save").focus() }, paint.indexOf);
makeSaving({ root, form, model, facts, tell, hand, part, measured: () => state.found });

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
    form.elements.height_mm.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
form.addEventListener("input", () => refresh({ isNew: true }));
svg.addEventListener("focus", () => refresh());
svg.addEventListener("blur", () => refresh());

for (const hidden of root.querySelectorAll("[data-measure-scripted]")) {
  hidden.hidden = false;
}
stage.lookAt(facts.picture.focus);
state.cross = [(facts.picture.focus[0] + facts.picture.focus[2]) / 2, (facts.picture.focus[1] + facts.picture.focus[3]) / 2];
problems(facts.problems);
setMode(model.handles.length ? "edit" : facts.view ? "tap" : "scale");
if (model.handles.length) {
  show();
}
