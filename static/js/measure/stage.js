// The window onto the photo: which part of it is seen, in pixels of the photo itself. The
// drawing's own units are those pixels, their centres at whole numbers.

const SVG = "http://www.w3.org/2000/svg";
const CLOSEST_PX = 24;
const MARGIN = 0.12;
const SHARP_WAIT_MS = 350;
const MOST_SHARP_PIXELS = 3_000_000;
const GRID_PX = 64;

export function draw(name, attributes = {}, parent = null) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) {
    element.setAttribute(key, value);
  }
  parent?.append(element);
  return element;
}

const limit = (value, least, most) => Math.min(Math.max(value, least), Math.max(least, most));

// picture is { left, top, width, height, url, part_url, scale }; seen() is called when the
// window moves.
export function makeStage(svg, picture, seen) {
  const whole = { x: picture.left - 0.5, y: picture.top - 0.5, w: picture.width, h: picture.height };
  const box = { ...whole };
  const ground = draw("g", { "aria-hidden": "true" });
  svg.prepend(ground);
  const frame = { x: whole.x, y: whole.y, width: whole.w, height: whole.h };
  draw("image", { ...frame, href: picture.url, preserveAspectRatio: "none" }, ground);
  const sharp = draw("image", { preserveAspectRatio: "none" }, ground);
  let timer = 0;

  function aspect() {
    return svg.clientHeight / svg.clientWidth || 1;
  }

  function show() {
    box.w = limit(box.w, CLOSEST_PX, Math.max(whole.w, whole.h / aspect()));
    box.h = box.w * aspect();
    box.x = box.w >= whole.w ? whole.x - (box.w - whole.w) / 2 : limit(box.x, whole.x, whole.x + whole.w - box.w);
    box.y = box.h >= whole.h ? whole.y - (box.h - whole.h) / 2 : limit(box.y, whole.y, whole.y + whole.h - box.h);
    svg.setAttribute("viewBox", `${box.x} ${box.y} ${box.w} ${box.h}`);
    clearTimeout(timer);
    timer = setTimeout(sharpen, SHARP_WAIT_MS);
    seen();
  }

  // The picture that came with the page is small; fetch what is seen as it was taken.
  function sharpen() {
    const [left, top] = [box.x, box.y].map((edge) => Math.max(0, Math.floor(edge / GRID_PX) * GRID_PX));
    const width = Math.ceil((box.x + box.w - left) / GRID_PX) * GRID_PX;
    const height = Math.ceil((box.y + box.h - top) / GRID_PX) * GRID_PX;
    const isFine = picture.scale * box.w >= svg.clientWidth * Math.min(2, window.devicePixelRatio);
    if (picture.scale >= 1 || isFine || width * height > MOST_SHARP_PIXELS || navigator.connection?.saveData) {
      return;
    }
    const url = picture.part_url.replace("0-0-1-1", `${left}-${top}-${width}-${height}`);
    if (sharp.getAttribute("href") === url) {
      return;
    }
    const image = new Image();
    image.addEventListener("load", () => {
      const size = { width: image.naturalWidth, height: image.naturalHeight };
      for (const [key, value] of Object.entries({ x: left - 0.5, y: top - 0.5, ...size, href: url })) {
        sharp.setAttribute(key, value);
      }
    });
    image.src = url;
  }

  function zoom(factor, [x, y] = [box.x + box.w / 2, box.y + box.h / 2]) {
    const before = box.w;
    box.w = limit(box.w / factor, CLOSEST_PX, Math.max(whole.w, whole.h / aspect()));
    box.x = x - (x - box.x) * (box.w / before);
    box.y = y - (y - box.y) * (box.w / before);
    show();
  }

  function pan(dx, dy) {
    box.x -= dx;
    box.y -= dy;
    show();
  }

  // Show a rectangle with some room around it.
  function lookAt([left, top, right, bottom]) {
    const room = 1 + 2 * MARGIN;
    box.w = Math.max((right - left) * room, ((bottom - top) * room) / aspect());
    box.h = box.w * aspect();
    box.x = (left + right - box.w) / 2;
    box.y = (top + bottom - box.h) / 2;
    show();
  }

  new ResizeObserver(show).observe(svg);

  return {
    box,
    ground,
    zoom,
    pan,
    lookAt,
    all: () => lookAt([whole.x, whole.y, whole.x + whole.w, whole.y + whole.h]),
    // How many pixels of the photo one of the screen covers.
    unit: () => box.w / (svg.clientWidth || 1),
    point({ clientX, clientY }) {
      const frame = svg.getBoundingClientRect();
      return [
        box.x + ((clientX - frame.left) / frame.width) * box.w,
        box.y + ((clientY - frame.top) / frame.height) * box.h,
      ];
    },
  };
}
