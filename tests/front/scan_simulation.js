// The body of a function with the machine as m and a seed as given: two tabs of one phone
// share a store and send to a server that knows keys; the network loses requests and answers.

let seed = given;
const chance = () => {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0; // Numerical Recipes' generator
  return seed / 2 ** 32;
};
const store = new Map();
const keys = [];
const done = [];
const doneAt = new Map();
const droppedKeys = [];
const overtaking = [];
let clock = 0;

const server = (scan) => {
  if (chance() < 0.2) {
    return { status: 0, body: null }; // never arrived
  }
  const refusal = { status: 409, body: { code: "conflict", message: "No." } };
  if (!doneAt.has(scan.key)) {
    if (chance() < 0.15) {
      return refusal;
    }
    doneAt.set(scan.key, scan.at);
    done.push(scan.key);
  } else if (doneAt.get(scan.key) !== scan.at) {
    return refusal; // sent before with other content
  }
  return chance() < 0.2 ? { status: 0, body: null } : { status: 200, body: { ok: true } };
};

const tab = () => ({ state: m.begin({ person: 5, act: "seen" }), flying: null });
const tabs = [tab(), tab()];
const look = (one) => {
  one.state = m.merged(one.state, [...store.values()]);
};

const scan = (one) => {
  clock += 1;
  const key = `k${String(clock).padStart(4, "0")}`;
  const read = m.read(one.state, { text: `A-${clock}`, by: "hand", at: clock, key });
  one.state = read.state;
  keys.push(key);
  store.set(key, read.out.scan);
};

// The answer is on its way for as long as chance lets it be; the other tab goes on meanwhile.
const send = (one) => {
  if (one.flying) {
    const { next, answer } = one.flying;
    one.flying = null;
    one.state = m.answered(one.state, next, answer, clock);
    const verdict = m.judge(answer.status, answer.body);
    if (verdict === "done") {
      store.delete(next.key);
    } else if (verdict === "refused" && store.has(next.key)) {
      store.set(next.key, { ...next, settle: true });
    }
    return;
  }
  look(one);
  const next = m.next(one.state);
  if (next) {
    const before = m.waiting(one.state).filter((other) => other.at < next.at);
    overtaking.push(...before.map((other) => other.key));
    one.flying = { next, answer: server(next) };
  }
};

const settle = (one) => {
  look(one);
  const [first] = m.unsettled(one.state);
  if (!first) {
    return;
  }
  const isDone = doneAt.has(first.key);
  if (isDone || chance() < 0.3) {
    if (!isDone) {
      droppedKeys.push(first.key);
    }
    store.delete(first.key);
    one.state = m.dropped(one.state, first.key);
  } else {
    clock += 1;
    one.state = m.again(one.state, first.key, clock);
    store.set(first.key, m.waiting(one.state).find((each) => each.key === first.key));
  }
};

for (let turn = 0; turn < 120; turn += 1) {
  const one = tabs[chance() < 0.5 ? 0 : 1];
  const what = chance();
  if (what < 0.4 && turn < 60) {
    scan(one);
  } else if (what < 0.9) {
    send(one);
  } else {
    settle(one);
  }
}
for (let turn = 0; turn < 4000 && (store.size > 0 || tabs.some((one) => one.flying)); turn += 1) {
  send(tabs[turn % 2]);
  settle(tabs[turn % 2]);
}
return { left: store.size, scanned: keys.length, keys, done, droppedKeys, overtaking };
