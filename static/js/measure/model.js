// What was drawn: points of the outline, heads, the ends of a known length, in pixels of the
// photo; each change can be taken back.

const MOST_STEPS = 200;
export const FEWEST_POINTS = 3;

const copy = (points) => points.map((point) => [...point]);

// heard() is called after each change.
export function makeModel({ handles = [], heads = [], ends = [], by = "drawn" }, heard) {
  let now = { handles: copy(handles), heads: copy(heads), ends: copy(ends), by };
  const past = [];
  const future = [];
  let isChanged = false;

  function kept() {
    return { ...now, handles: copy(now.handles), heads: copy(now.heads), ends: copy(now.ends) };
  }

  // Remember how things stand before they change, once for a whole drag.
  function begin() {
    past.push(kept());
    past.splice(0, past.length - MOST_STEPS);
    future.length = 0;
    isChanged = true;
  }

  function touch() {
    now.by = now.by === "suggested" ? "adjusted" : now.by;
    heard();
  }

  function step(from, to) {
    if (from.length) {
      to.push(kept());
      now = from.pop();
      heard();
    }
    return now;
  }

  return {
    begin,
    get handles() {
      return now.handles;
    },
    get heads() {
      return now.heads;
    },
    get ends() {
      return now.ends;
    },
    get by() {
      return now.by;
    },
    get isChanged() {
      return isChanged;
    },
    get canUndo() {
      return past.length > 0;
    },
    get canRedo() {
      return future.length > 0;
    },
    undo: () => step(past, future),
    redo: () => step(future, past),
    move(place, point) {
      now.handles[place] = point;
      touch();
    },
    insert(place, point) {
      now.handles.splice(place, 0, point);
      touch();
    },
    remove(place) {
      now.handles.splice(place, 1);
      touch();
    },
    outline(points, who) {
      now.handles = copy(points);
      now.by = who;
      heard();
    },
    addHead(point) {
      now.heads.push(point);
      heard();
    },
    removeHead(place) {
      now.heads.splice(place, 1);
      heard();
    },
    setEnd(place, point) {
      now.ends[place] = point;
      heard();
    },
    saved() {
      isChanged = false;
    },
  };
}
