// Fingers, pens and mice on the photo: tap, drag a point, push the photo, pinch it.

const REACH_PX = 26;
const EDGE_REACH_PX = 16;
const STILL_PX = 5;

const apart = ([x, y], [u, v]) => Math.hypot(u - x, v - y);

// The nearest of some points within reach, or -1.
export function nearest(points, at, reach) {
  let found = -1;
  let least = reach;
  points.forEach((point, place) => {
    const away = apart(point, at);
    if (away <= least) {
      [found, least] = [place, away];
    }
  });
  return found;
}

// Before which point a new one on the outline stands, or -1 where the outline is out of reach.
// The curve is dense; each of its stretches from point to point is looked at.
export function placeOnEdge(handles, curve, at, reach) {
  const on = nearest(curve, at, reach);
  if (on < 0) {
    return -1;
  }
  const starts = handles.map((handle) => nearest(curve, handle, Infinity));
  const later = starts.findIndex((start, place) => {
    const end = place + 1 < starts.length ? starts[place + 1] : curve.length;
    return start <= on && on < end;
  });
  return later < 0 ? handles.length : later + 1;
}

// acts has: grab(point, reach) → a function that takes the moved point, or null;
// tap(point, reach), lift() at the end of a drag, cancel() where a second finger ends it,
// aim(point or null, isRight).
export function listen(svg, stage, acts) {
  const fingers = new Map();
  let held = null;

  function hold(event) {
    const at = stage.point(event);
    const reach = { point: REACH_PX * stage.unit(), edge: EDGE_REACH_PX * stage.unit() };
    held = { start: event, last: event, at, reach, moved: false, drag: null };
    held.drag = acts.grab(at, reach);
    if (held.drag) {
      aim(event, held.drag.from);
    }
  }

  function aim(event, point) {
    const frame = svg.getBoundingClientRect();
    acts.aim(point, event.clientX > frame.left + frame.width / 2);
  }

  function drop() {
    acts.aim(null);
    held = null;
  }

  function pinch(event) {
    const before = [...fingers.values()];
    fingers.set(event.pointerId, event);
    const after = [...fingers.values()];
    const spread = (pair) => Math.hypot(pair[1].clientX - pair[0].clientX, pair[1].clientY - pair[0].clientY);
    const middle = (pair) => ({
      clientX: (pair[0].clientX + pair[1].clientX) / 2,
      clientY: (pair[0].clientY + pair[1].clientY) / 2,
    });
    const [from, to] = [stage.point(middle(before)), stage.point(middle(after))];
    stage.pan(to[0] - from[0], to[1] - from[1]);
    stage.zoom(spread(after) / Math.max(1, spread(before)), stage.point(middle(after)));
  }

  svg.addEventListener("pointerdown", (event) => {
    if (event.button > 0) {
      return;
    }
    svg.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, event);
    if (fingers.size === 1) {
      hold(event);
    } else if (held) {
      if (held.drag && held.moved) {
        acts.cancel();
      }
      drop();
    }
  });

  svg.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) {
      return;
    }
    if (fingers.size > 1) {
      pinch(event);
      return;
    }
    if (!held) {
      return;
    }
    const far = Math.hypot(event.clientX - held.start.clientX, event.clientY - held.start.clientY);
    held.moved ||= far > STILL_PX;
    if (held.moved && held.drag) {
      // The point keeps its distance from the finger, so that it does not jump.
      const [x, y] = stage.point(event);
      const point = [held.drag.from[0] + x - held.at[0], held.drag.from[1] + y - held.at[1]];
      held.drag.to(point);
      aim(event, point);
    } else if (held.moved) {
      const [from, to] = [stage.point(held.last), stage.point(event)];
      stage.pan(to[0] - from[0], to[1] - from[1]);
    }
    held.last = event;
  });

  function end(event) {
    fingers.delete(event.pointerId);
    if (!held) {
      return;
    }
    const { moved, drag, at, reach } = held;
    drop();
    if (event.type === "pointercancel") {
      if (drag && moved) {
        acts.cancel();
      }
    } else if (moved) {
      acts.lift(Boolean(drag));
    } else {
      acts.tap(at, reach);
    }
  }

  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", end);
  svg.addEventListener(
    "wheel",
    (event) => {
      // A plain wheel scrolls the page; with Ctrl, and so by a trackpad's pinch, it zooms.
      if (event.ctrlKey) {
        event.preventDefault();
        stage.zoom(Math.exp(-event.deltaY / 200), stage.point(event));
      }
    },
    { passive: false },
  );
}
