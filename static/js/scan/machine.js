// What a scan does: the whole of it without a page, a clock, a network or a memory.
//
// A state is never changed; every function gives the next one. What waits to be sent is a
// list of scans { key, person, act, code, at } with what was chosen before beside them
// (rack, cause or size). A scan that the server refused has settle: true and stays until a
// person decides. key is the replay key under which the server does each scan once, however
// often it is sent.

import { isMisread, judge } from "./answers.js";
import { readText, showCode } from "./code.js";

export { judge };

// The same code within this time is the same scan; for the camera, since it was last in view.
export const REPEAT_MS = 3000;
export const NEEDS = { move: "rack", lose: "cause", ready: "size" };
const ASKS = {
  rack: "Scan the rack first, or choose it.",
  cause: "Choose the cause first, then scan.",
  size: "Choose the size first, then scan.",
};
const WITH_RACKS = ["look", "label"];

export function begin(given) {
  return {
    ...{ person: 0, act: "look", rack: "", cause: "", size: "" },
    ...{ racks: {}, away: false, seen: {}, queue: [] },
    ...given,
  };
}

export function choose(state, chosen) {
  return { ...state, ...chosen };
}

const refused = (state, words, mark = "") => ({ state, out: { kind: "refused", words, mark } });

function doing(state) {
  const need = NEEDS[state.act];
  return need ? `${state.act} ${state[need]}` : state.act;
}

function isRepeat(before, { by, at, what }) {
  if (!before) {
    return false;
  }
  // Somebody who looks at a piece and then chooses what to do moves away from it first:
  // else the choice alone would write off what the camera still sees.
  return by === "camera"
    ? at - before.at < REPEAT_MS
    : at - before.counted < REPEAT_MS && before.what === what;
}

function noticed(state, mark, at, { counts, what }) {
  const recent = Object.entries(state.seen).filter(([, one]) => at - one.at < REPEAT_MS);
  const before = state.seen[mark];
  const now = counts ? { at, counted: at, what } : { ...before, at };
  return { ...state, seen: { ...Object.fromEntries(recent), [mark]: now } };
}

// Read one text, typed or by the camera; gives { state, out }. out.kind is one of
// "again", "refused", "strange", "rack", "look" and "scan".
export function read(state, { text, by, at, key }) {
  const { is, mark, sent } = readText(text);
  const what = doing(state);
  if (is === "empty") {
    return refused(state, "Type or scan a code.");
  }
  if (isRepeat(state.seen[mark], { by, at, what })) {
    return { state: noticed(state, mark, at, { counts: false }), out: { kind: "again", mark } };
  }
  const after = noticed(state, mark, at, { counts: true, what });
  if (by === "camera" && is !== "code") {
    return { state: after, out: { kind: "strange", mark } };
  }
  if (is === "wrong" && state.away) {
    return refused(after, `A character in ${showCode(mark)} is wrong; look at the label again.`);
  }
  return meant(after, { is, mark, sent, at, key });
}

function meant(state, { is, mark, sent, at, key }) {
  const rack = rackOf(state, { is, mark });
  if (rack && state.act === "move") {
    return { state: { ...state, rack }, out: { kind: "rack", code: rack, name: state.racks[rack] } };
  }
  if (rack && !WITH_RACKS.includes(state.act)) {
    return refused(state, `${showCode(mark)} is ${state.racks[rack]}. Scan a frag.`, mark);
  }
  const need = NEEDS[state.act];
  if (need && !state[need]) {
    return refused(state, ASKS[need], mark);
  }
  if (state.act === "look") {
    return { state, out: { kind: "look", code: sent } };
  }
  const scan = { key, person: state.person, act: state.act, code: sent, at };
  return kept(state, need ? { ...scan, [need]: state[need] } : scan);
}

// The end of a code names a rack only while none is chosen; after that it is a frag's.
function rackOf(state, { is, mark }) {
  if (is === "code" && Object.hasOwn(state.racks, mark)) {
    return mark;
  }
  if (is === "end" && state.act === "move" && !state.rack) {
    const ending = Object.keys(state.racks).filter((code) => code.endsWith(mark));
    return ending.length === 1 ? ending[0] : "";
  }
  return "";
}

// Let a scan wait; also for what takes a scan back.
export function kept(state, scan) {
  return { state: merged(state, [...state.queue, scan]), out: { kind: "scan", scan } };
}

function inOrder(one, other) {
  return one.at - other.at || (one.key < other.key ? -1 : 1);
}

// What the phone keeps now, whichever tab put it there; words said here stay with their scan.
export function merged(state, scans) {
  const known = new Map(state.queue.map((scan) => [scan.key, scan]));
  const queue = scans
    .map((scan) => (scan.settle ? { ...known.get(scan.key), ...scan } : scan))
    .sort(inOrder);
  return { ...state, queue };
}

function mine(state) {
  return state.queue.filter((scan) => scan.person === state.person);
}

export function waiting(state) {
  return mine(state).filter((scan) => !scan.settle);
}

export function unsettled(state) {
  return mine(state).filter((scan) => scan.settle);
}

export function ofOthers(state) {
  return state.queue.filter((scan) => scan.person !== state.person);
}

// The one to send now: the oldest of the person who is signed in here.
export function next(state) {
  return waiting(state)[0];
}

export function dropped(state, key) {
  return { ...state, queue: state.queue.filter((scan) => scan.key !== key) };
}

export function put(state, scan) {
  return merged(dropped(state, scan.key), [...dropped(state, scan.key).queue, scan]);
}

export function has(state, key) {
  return state.queue.some((scan) => scan.key === key);
}

export function answered(state, scan, { status, body }, now) {
  const verdict = judge(status, body);
  const after = { ...state, away: verdict === "unreached" };
  if (verdict === "done") {
    return dropped(after, scan.key);
  }
  if (verdict !== "refused" || !has(state, scan.key)) {
    return after; // still waiting; or dropped meanwhile, or done by another tab
  }
  // What was refused did not count, so that it may be scanned again at once.
  const seen = { ...state.seen };
  if (seen[scan.code]) {
    seen[scan.code] = { ...seen[scan.code], counted: -Infinity };
  }
  if (isMisread(body, now - scan.at)) {
    return dropped({ ...after, seen }, scan.key);
  }
  const told = { settle: true, words: body.message, choices: body.choices ?? [] };
  return put({ ...after, seen }, { ...scan, ...told });
}

// Try a refused scan again as of now. Its key stays: if another tab had it done meanwhile,
// the server says so instead of doing it twice.
export function again(state, key, at) {
  if (!has(state, key)) {
    return state;
  }
  const { settle, words, choices, ...scan } = state.queue.find((one) => one.key === key);
  return put(state, { ...scan, at });
}
