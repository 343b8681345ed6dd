// Where the camera stood: between the pixels of a photograph and millimetres, by the same
// formulas as fraginv/growth/rules/camera.py, to which a test holds these.

const WATER = 1.33;
const UNBENDING_ROUNDS = 6;
const FINGER_PX = 2 * Math.SQRT2;
const CROOKED = 1 - Math.cos((10 * Math.PI) / 180);

export function heightInAir(height, throughWater) {
  return throughWater ? height / WATER : height;
}

// The 3 × 3 matrix from (x, y, 1) in mm at a height to rays, row by row.
function plane(view, height) {
  return view.rotation.map((row, line) => [row[0], row[1], view.translation[line] - row[2] * height]);
}

function inverse([[a, b, c], [d, e, f], [g, h, i]]) {
  const [p, q, r] = [e * i - f * h, f * g - d * i, d * h - e * g];
  const size = a * p + b * q + c * r;
  return [
    [p / size, (c * h - b * i) / size, (b * f - c * e) / size],
    [q / size, (a * i - c * g) / size, (c * d - a * f) / size],
    [r / size, (b * g - a * h) / size, (a * e - b * d) / size],
  ];
}

function through(matrix, [x, y]) {
  const [u, v, w] = matrix.map((row) => row[0] * x + row[1] * y + row[2]);
  return [u / w, v / w];
}

export function distance(view) {
  return view.rotation.reduce((sum, row, line) => sum + row[2] * view.translation[line], 0);
}

export function toPixels(view, points, height) {
  const matrix = plane(view, height);
  return points.map((point) => {
    const [x, y] = through(matrix, point);
    const stretch = view.focal_px * (1 + view.bend * (x * x + y * y));
    return [x * stretch + view.centre[0], y * stretch + view.centre[1]];
  });
}

export function toPlane(view, points, height) {
  const matrix = inverse(plane(view, height));
  return points.map(([px, py]) => {
    const bent = [(px - view.centre[0]) / view.focal_px, (py - view.centre[1]) / view.focal_px];
    let ray = bent;
    for (let round = 0; view.bend && round < UNBENDING_ROUNDS; round += 1) {
      const stretch = 1 + view.bend * (ray[0] * ray[0] + ray[1] * ray[1]);
      ray = [bent[0] / stretch, bent[1] / stretch];
    }
    return through(matrix, ray);
  });
}

// How many pixels a millimetre has around a pixel, at a height.
export function pxPerMm(view, [x, y], height) {
  const [here, right, down] = toPlane(view, [[x, y], [x + 1, y], [x, y + 1]], height);
  const [a, b] = [right[0] - here[0], right[1] - here[1]];
  const [c, d] = [down[0] - here[0], down[1] - here[1]];
  return 1 / Math.sqrt(Math.abs(a * d - b * c));
}

// The view in which two pixels, seen straight from above, lie a length in mm apart.
export function viewByHand([one, other], length, { width, height, focal }) {
  const apart = Math.hypot(other[0] - one[0], other[1] - one[1]);
  if (!(apart > 0) || !(length > 0)) {
    return null;
  }
  return {
    focal_px: focal.px,
    centre: [(width - 1) / 2, (height - 1) / 2],
    rotation: [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    translation: [0, 0, (focal.px * length) / apart],
    scale: "hand",
    sigma_scale: Math.hypot(FINGER_PX / apart, CROOKED),
    sigma_focal: focal.sigma,
    bend: 0,
  };
}
