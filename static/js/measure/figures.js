// Sizes of what is drawn, and how sure they are: the same formulas as
// fraginv/growth/rules/measuring.py, to which a test holds these.

import { area, crossesItself, feret, perimeter, smooth } from "./outline.js";
import { distance, heightInAir, toPixels, toPlane } from "./view.js";

// Return the smooth curve in pixels and the sizes in mm, or null where nothing can be said.
export function measure(handles, { view, height, throughWater, sigmas }) {
  if (handles.length < 3 || !view || !Number.isFinite(height)) {
    return null;
  }
  const seen = heightInAir(height, throughWater);
  const away = distance(view) - seen;
  if (!(away > 0)) {
    return null;
  }
  const curve = smooth(toPlane(view, handles, seen));
  if (curve.length < 3) {
    return null;
  }
  const [size, across] = [area(curve), feret(curve)];
  const doubt = sigmas.offered_mm.includes(height) ? sigmas.offered : sigmas.height;
  const share = Math.hypot(
    view.sigma_scale,
    (view.sigma_focal * seen) / away,
    heightInAir(doubt, throughWater) / away,
    throughWater ? sigmas.water : 0,
  );
  const around = perimeter(curve);
  const ragged = Math.hypot(sigmas.point * Math.sqrt(around * sigmas.every), sigmas.whole * around);
  return {
    curve: toPixels(view, curve, seen),
    area: size,
    diameter: across,
    sigmaArea: Math.hypot(size * 2 * share, ragged),
    sigmaDiameter: Math.hypot(across * share, sigmas.across),
    isWrong: () => crossesItself(curve),
  };
}

const one = (value) => value.toFixed(1);
const two = (value) => value.toFixed(2);

export const tall = (height) => (Number.isFinite(height) ? `${Number(one(height))} mm` : "–");
export const across = (found) => `${one(found.diameter)} mm`;
export const surface = (found) => `${two(found.area / 100)} cm²`;
export const unsure = (found) => `± ${two(Math.max(0.01, found.sigmaArea / 100))} cm²`;

export function sentence(found) {
  return `${across(found)} across, ${surface(found)} projected, ${unsure(found)}.`;
}
