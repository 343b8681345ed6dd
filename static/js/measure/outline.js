// Outlines in millimetres and the smooth closed curve through few points, by the same formulas
// as fraginv/growth/rules/outlines.py, to which a test holds these.

const SPACING_MM = 0.25;

function next(points, place) {
  return points[(place + 1) % points.length];
}

export function area(points) {
  const [ox, oy] = points[0];
  let twice = 0;
  points.forEach(([x, y], place) => {
    const [u, v] = next(points, place);
    twice += (x - ox) * (v - oy) - (u - ox) * (y - oy);
  });
  return Math.abs(twice) / 2;
}

export function perimeter(points) {
  return points.reduce((sum, [x, y], place) => {
    const [u, v] = next(points, place);
    return sum + Math.hypot(u - x, v - y);
  }, 0);
}

function halfHull(points) {
  const chain = [];
  for (const [x, y] of points) {
    while (chain.length > 1) {
      const [[ax, ay], [bx, by]] = chain.slice(-2);
      if ((bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0) {
        break;
      }
      chain.pop();
    }
    chain.push([x, y]);
  }
  return chain.slice(0, -1);
}

// The greatest distance between two points of the outline.
export function feret(points) {
  const sorted = [...points].sort((one, other) => one[0] - other[0] || one[1] - other[1]);
  const corners = [...halfHull(sorted), ...halfHull(sorted.reverse())];
  let most = 0;
  for (const [x, y] of corners) {
    for (const [u, v] of corners) {
      most = Math.max(most, Math.hypot(u - x, v - y));
    }
  }
  return most;
}

function distinct(points) {
  return points.filter(([x, y], place) => {
    const [u, v] = points[(place + points.length - 1) % points.length];
    return x !== u || y !== v;
  });
}

// Solve a symmetric system that is diagonally dominant, for two right sides at once.
function solve(matrix, right) {
  const count = right.length;
  for (let pivot = 0; pivot < count; pivot += 1) {
    for (let row = pivot + 1; row < count; row += 1) {
      const share = matrix[row][pivot] / matrix[pivot][pivot];
      if (share) {
        for (let column = pivot; column < count; column += 1) {
          matrix[row][column] -= share * matrix[pivot][column];
        }
        right[row][0] -= share * right[pivot][0];
        right[row][1] -= share * right[pivot][1];
      }
    }
  }
  for (let row = count - 1; row >= 0; row -= 1) {
    for (const axis of [0, 1]) {
      for (let column = row + 1; column < count; column += 1) {
        right[row][axis] -= matrix[row][column] * right[column][axis];
      }
      right[row][axis] /= matrix[row][row];
    }
  }
  return right;
}

// The second derivatives of the periodic cubic spline at its points.
function bends(points, step) {
  const count = points.length;
  const matrix = points.map(() => new Array(count).fill(0));
  const slope = points.map((point, place) =>
    [0, 1].map((axis) => (next(points, place)[axis] - point[axis]) / step[place]),
  );
  const right = points.map((_, place) => {
    const before = (place + count - 1) % count;
    // Sums, because with 3 points the one before is also the one after the next.
    matrix[place][place] += 2 * (step[before] + step[place]);
    matrix[place][(place + 1) % count] += step[place];
    matrix[place][before] += step[before];
    return [0, 1].map((axis) => 6 * (slope[place][axis] - slope[before][axis]));
  });
  return solve(matrix, right);
}

// A dense polygon along the smooth closed curve through few points.
export function smooth(handles, spacing = SPACING_MM) {
  const points = distinct(handles);
  if (points.length < 3) {
    return points;
  }
  const chord = points.map(([x, y], place) => {
    const [u, v] = next(points, place);
    return Math.hypot(u - x, v - y);
  });
  const step = chord.map(Math.sqrt);
  const bend = bends(points, step);
  return points.flatMap((here, place) => {
    const [there, bendHere, bendThere] = [next(points, place), bend[place], next(bend, place)];
    const count = Math.max(1, Math.ceil((1.2 * chord[place]) / spacing));
    return Array.from({ length: count }, (_, turn) => {
      const share = turn / count;
      const rest = 1 - share;
      return [0, 1].map(
        (axis) =>
          rest * here[axis] +
          share * there[axis] +
          (chord[place] / 6) *
            ((rest ** 3 - rest) * bendHere[axis] + (share ** 3 - share) * bendThere[axis]),
      );
    });
  });
}

function side([ax, ay], [bx, by], [x, y]) {
  return (bx - ax) * (y - ay) - (by - ay) * (x - ax);
}

function sidesMeet(a, b, c, d) {
  const apart = [0, 1].some(
    (axis) =>
      Math.max(c[axis], d[axis]) < Math.min(a[axis], b[axis]) ||
      Math.max(a[axis], b[axis]) < Math.min(c[axis], d[axis]),
  );
  return !apart && side(a, b, c) * side(a, b, d) <= 0 && side(c, d, a) * side(c, d, b) <= 0;
}

// Whether two sides of a polygon that are no neighbours meet.
export function crossesItself(outline) {
  const points = distinct(outline);
  const count = points.length;
  for (let here = 0; here < count - 2; here += 1) {
    const until = here === 0 ? count - 1 : count;
    for (let other = here + 2; other < until; other += 1) {
      if (sidesMeet(points[here], next(points, here), points[other], next(points, other))) {
        return true;
      }
    }
  }
  return false;
}
