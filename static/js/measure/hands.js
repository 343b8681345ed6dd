// What a touch or a key does to the outline, by what is being done: tap the coral, edit, draw,
// count heads, or set a known length.

import { FEWEST_POINTS } from "./model.js";
import { nearest, placeOnEdge } from "./touch.js";
import { pxPerMm } from "./view.js";

const TOO_FEW = `An outline needs at least ${FEWEST_POINTS} points.`;

export function makeHands({ desk, model, stage, paint, state, view, suggest, refresh }) {
  const { tell, height } = desk;
  const isOutline = () => state.mode === "edit" || state.mode === "draw";

  function choose(index) {
    state.chosen = index;
    paint.dot(index)?.focus({ preventScroll: true });
  }

  // A drag that remembers how things stood only once something moves.
  function drag(from, move, first = () => {}) {
    let begun = false;
    return {
      from,
      to(point) {
        if (!begun) {
          model.begin();
          first();
          begun = true;
        }
        move(point);
      },
    };
  }

  function grab(at, reach) {
    if (state.mode === "scale") {
      const end = nearest(model.ends, at, reach.point);
      return end < 0 ? null : drag(model.ends[end], (point) => model.setEnd(end, point));
    }
    if (!isOutline()) {
      return null;
    }
    const index = nearest(model.handles, at, reach.point);
    if (index >= 0) {
      state.chosen = index;
      return drag(model.handles[index], (point) => model.move(index, point));
    }
    const place = state.found ? placeOnEdge(model.handles, state.found.curve, at, reach.edge) : -1;
    if (place < 0) {
      return null;
    }
    return drag(at, (point) => model.move(place, point), () => {
      model.insert(place, at);
      state.chosen = place;
    });
  }

  function addPoint(at, reach) {
    // Where one draws, the next point may stand close to the last.
    const index = nearest(model.handles, at, state.mode === "draw" ? reach.edge / 2 : reach.point);
    if (index >= 0) {
      choose(index);
      return;
    }
    const onEdge = state.found ? placeOnEdge(model.handles, state.found.curve, at, reach.edge) : -1;
    const place = onEdge < 0 && state.mode === "draw" ? model.handles.length : onEdge;
    if (place >= 0) {
      model.begin();
      model.insert(place, at);
      choose(place);
    }
  }

  function markHead(at, reach) {
    const head = nearest(model.heads, at, reach.point);
    model.begin();
    if (head < 0) {
      model.addHead(at);
    } else {
      model.removeHead(head);
    }
  }

  function tap(at, reach) {
    if (state.mode === "tap") {
      suggest(at);
    } else if (state.mode === "heads") {
      markHead(at, reach);
    } else if (state.mode === "scale") {
      model.begin();
      model.setEnd(model.ends.length < 2 ? model.ends.length : nearest(model.ends, at, Infinity), at);
    } else {
      addPoint(at, reach);
    }
  }

  function remove(index) {
    if (index < 0 || index >= model.handles.length) {
      tell(desk.facts.words.choose);
    } else if (model.handles.length <= FEWEST_POINTS && state.mode !== "draw") {
      tell(TOO_FEW, true);
    } else {
      model.begin();
      model.remove(index);
      choose(Math.min(index, model.handles.length - 1));
      tell("");
    }
  }

  function pixels(index) {
    const at = model.handles[index] ?? state.cross;
    return view() && Number.isFinite(height()) ? pxPerMm(view(), at, height()) : 10 * stage.unit();
  }

  function back(step) {
    step();
    state.chosen = Math.min(state.chosen, model.handles.length - 1);
    refresh({ isNew: true });
  }

  return {
    touch: {
      grab,
      tap,
      aim: (point, isRight) => paint.look(isOutline() || state.mode === "scale" ? point : null, isRight),
      lift(isDrag) {
        if (isDrag && isOutline()) {
          choose(state.chosen);
        }
      },
      cancel: () => back(model.undo),
    },
    keys: {
      pixels,
      remove,
      undo: () => back(model.undo),
      redo: () => back(model.redo),
      zoom: (factor) => stage.zoom(factor),
      push(index, [dx, dy], isRepeat) {
        if (!isRepeat) {
          model.begin();
        }
        state.chosen = index;
        const [x, y] = model.handles[index];
        model.move(index, [x + dx, y + dy]);
      },
      split(index) {
        const [x, y] = model.handles[index];
        const [u, v] = model.handles[(index + 1) % model.handles.length];
        model.begin();
        model.insert(index + 1, [(x + u) / 2, (y + v) / 2]);
        choose(index + 1);
      },
      cross([dx, dy]) {
        state.cross = [state.cross[0] + dx, state.cross[1] + dy];
        refresh();
      },
      enter: () => tap(state.cross, { point: 0, edge: 0 }),
    },
  };
}
