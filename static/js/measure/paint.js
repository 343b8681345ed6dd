// Drawing what was drawn: outline, points, heads, the known length, and the cross that the
// keyboard moves. Sizes are those of the screen, whatever part of the photo is seen.

import { draw } from "./stage.js";

const DOT = 7;
const TARGET = 22;
const LOUPE_ZOOM = 3;
const LOUPE_PX = 132;

const named = (place, count) => `Point ${place + 1} of ${count}`;

// A dark line below a light one is seen on white and on black.
function twice(parent, name) {
  return [`${name} measure__under`, name].map((each) => draw("path", { class: each, "aria-hidden": "true" }, parent));
}

function trace(paths, shape) {
  for (const path of paths) {
    path.setAttribute("d", shape);
  }
}

export function makePaint(svg, loupe, stage) {
  const layer = draw("g", {}, svg);
  const line = { wide: draw("path", { class: "measure__halo" }, layer), thin: draw("path", { class: "measure__line" }, layer) };
  const known = twice(layer, "measure__known");
  const dots = draw("g", {}, layer);
  const marks = draw("g", { "aria-hidden": "true" }, layer);
  const cross = twice(layer, "measure__cross");
  const near = {
    ground: draw("g", {}, loupe),
    wide: draw("path", { class: "measure__halo" }, loupe),
    thin: draw("path", { class: "measure__line" }, loupe),
    aim: twice(loupe, "measure__aim"),
  };

  const d = (points, end = "Z") =>
    points.length ? `M${points.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join("L")}${end}` : "";

  function plus([x, y], size) {
    return `M${x - size} ${y}H${x + size}M${x} ${y - size}V${y + size}`;
  }

  // As many groups as there are points, each with what makes it large enough for a thumb.
  function fill(parent, count, name, isButton) {
    while (parent.children.length > count) {
      parent.lastChild.remove();
    }
    while (parent.children.length < count) {
      const role = isButton ? { role: "button", tabindex: "0", "aria-roledescription": "point" } : {};
      const group = draw("g", { class: name, ...role }, parent);
      draw("circle", { class: "measure__target" }, group);
      draw("circle", { class: "measure__dot" }, group);
    }
    return [...parent.children];
  }

  function place(group, [x, y], unit, label) {
    const [target, dot] = group.children;
    for (const [circle, size] of [[target, TARGET], [dot, DOT]]) {
      circle.setAttribute("cx", x);
      circle.setAttribute("cy", y);
      circle.setAttribute("r", size * unit);
    }
    if (label) {
      group.setAttribute("aria-label", label);
    }
  }

  function show({ handles, heads, ends, curve, isWrong, isEdited, cross: at }) {
    const unit = stage.unit();
    const shape = d(curve.length ? curve : handles, handles.length > 2 ? "Z" : "");
    trace([line.wide, line.thin, near.wide, near.thin], shape);
    svg.classList.toggle("measure__picture--wrong", isWrong);
    fill(dots, isEdited ? handles.length : 0, "measure__point", true).forEach((group, index) =>
      place(group, handles[index], unit, named(index, handles.length)),
    );
    fill(marks, heads.length + ends.length, "measure__mark", false).forEach((group, index) =>
      place(group, [...heads, ...ends][index], unit),
    );
    trace(known, ends.length > 1 ? d(ends, "") : "");
    trace(cross, at ? plus(at, 14 * unit) : "");
  }

  // What lies under the finger, larger, in the corner that the hand does not cover.
  function look(point, isRight) {
    loupe.toggleAttribute("hidden", !point);
    if (!point) {
      return;
    }
    [...stage.ground.children].forEach((image, index) => {
      const twin = near.ground.children[index];
      if (twin?.getAttribute("href") !== image.getAttribute("href")) {
        twin?.remove();
        near.ground.insertBefore(image.cloneNode(), near.ground.children[index] ?? null);
      }
    });
    const side = (LOUPE_PX / LOUPE_ZOOM) * stage.unit();
    loupe.setAttribute("viewBox", `${point[0] - side / 2} ${point[1] - side / 2} ${side} ${side}`);
    trace(near.aim, plus(point, side / 8));
    loupe.classList.toggle("measure__loupe--left", isRight);
  }

  return {
    show,
    look,
    dot: (index) => dots.children[index] ?? null,
    indexOf: (element) => [...dots.children].indexOf(element?.closest?.(".measure__point")),
  };
}
