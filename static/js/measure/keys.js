// The outline by keyboard: Tab goes from point to point, arrows move, Delete removes; on the
// photo itself arrows move a cross, and Enter taps where it stands.

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const POINT_MM = [0.1, 1];
const CROSS_MM = [1, 5];

// acts has: pixels(point) → pixels a millimetre has there, undo(), redo(), zoom(factor),
// push(index, [dx, dy]), remove(index), split(index), cross([dx, dy]), enter(), leave().
export function listenToKeys(svg, acts, indexOf) {
  function onPoint(event, index) {
    if (event.key === "Delete" || event.key === "Backspace") {
      acts.remove(index);
    } else if (event.key === "Insert") {
      acts.split(index);
    } else if (event.key in STEPS) {
      const step = POINT_MM[Number(event.shiftKey)] * acts.pixels(index);
      acts.push(index, STEPS[event.key].map((side) => side * step), event.repeat);
    } else {
      return false;
    }
    return true;
  }

  function onPhoto(event) {
    if (event.key === "Enter" || event.key === " ") {
      acts.enter();
    } else if (event.key in STEPS) {
      const step = CROSS_MM[Number(event.shiftKey)] * acts.pixels(-1);
      acts.cross(STEPS[event.key].map((side) => side * step));
    } else {
      return false;
    }
    return true;
  }

  function anywhere(event) {
    const isCommand = event.ctrlKey || event.metaKey;
    const key = event.key.toLowerCase();
    if (isCommand && (key === "y" || (key === "z" && event.shiftKey))) {
      acts.redo();
    } else if (isCommand && key === "z") {
      acts.undo();
    } else if (!isCommand && (key === "+" || key === "=")) {
      acts.zoom(1.4);
    } else if (!isCommand && key === "-") {
      acts.zoom(1 / 1.4);
    } else if (key === "escape") {
      acts.leave();
    } else {
      return false;
    }
    return true;
  }

  svg.addEventListener("keydown", (event) => {
    const index = indexOf(event.target);
    const isPlain = !event.ctrlKey && !event.metaKey && !event.altKey;
    const done = isPlain && (index >= 0 ? onPoint(event, index) : onPhoto(event));
    if (done || anywhere(event)) {
      event.preventDefault();
    }
  });
}
