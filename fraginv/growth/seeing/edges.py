"""Borders between dark and light cells, found in a picture to a hundredth of a pixel.

A printed symbol or marker is a grid of cells that is known beforehand. Along each border
between a dark and a light cell a short profile across it is sampled; where it grows lighter
fastest, by the centre of gravity of its rise, is the edge.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from fraginv.growth.rules.camera import Points, through

Grey = NDArray[np.uint8]

# How far a profile reaches on either side, in cells and in pixels, and where on the border
# profiles are taken that are averaged, in cells from its middle.
REACH_CELLS: Final = 0.6
REACH_PX: Final = 7.0
BESIDE: Final = (-0.3, 0.0, 0.3)
# Pixels between samples; with most cells covered twice, finer ones tell nothing more.
STEP_PX: Final = 0.6
MOST_SAMPLES: Final = 33
# Grey levels by which a border must grow lighter to count.
LEAST_RISE: Final = 12.0
KINDS: Final = 8


@dataclass(frozen=True)
class Edges:
    """Borders of a printed grid: middle and direction from dark to light.

    Attributes: ``points`` n × 2 in mm; ``normals`` n × 2, each along one axis; ``kind`` n,
    from 0 to 7, tells the axis and whether the cells behind the dark one and beyond the
    light one are dark; ``cell`` the side of a cell in mm.
    """

    points: Points
    normals: Points
    kind: NDArray[np.int64]
    cell: float

    @property
    def kinds(self) -> Points:
        """Return n × 8, a 1 for each border's kind."""
        return np.asarray(self.kind[:, None] == np.arange(KINDS), dtype=np.float64)


@dataclass(frozen=True)
class Found:
    """Where borders were found.

    Attributes: ``shift`` n, in mm from where they were looked for, along the normal;
    ``weight`` n, 0 where nothing was found; ``blur`` is that of the picture, as the standard
    deviation in mm of the bell that an edge's steepness answers to.
    """

    shift: Points
    weight: Points
    blur: float


def edges_of(
    cells: Sequence[Sequence[bool]], *, cell: float, at: tuple[float, float] = (0.0, 0.0)
) -> Edges:
    """Return all borders between dark and light of a grid that stands on white.

    Args: rows of cells, True is dark; a cell's side and the grid's top left corner in mm.
    """
    # White all around, so that each border has two cells on either side.
    dark = np.pad(np.asarray(cells, dtype=np.int8), 2)
    return joined(
        [borders(grid, axis=axis, cell=cell, at=at) for axis, grid in enumerate((dark, dark.T))]
    )


def borders(grid: NDArray[np.int8], *, axis: int, cell: float, at: tuple[float, float]) -> Edges:
    """Return the borders across rows (axis 0) or, of a grid turned over, across columns."""
    inner = grid[2:-2, 1:-1]
    # From left to right: 1 where it grows darker, -1 where it grows lighter.
    change = np.diff(inner, axis=1)
    row, column = np.nonzero(change)
    grows = change[row, column]
    before, after = grid[row + 2, column], grid[row + 2, column + 3]
    behind, beyond = np.where(grows < 0, (before, after), (after, before))
    points = np.column_stack([column * cell, (row + 0.5) * cell])
    normals = np.column_stack([-grows.astype(np.float64), np.zeros(len(grows))])
    if axis == 1:
        points, normals = points[:, ::-1], normals[:, ::-1]
    return Edges(points + np.array(at), normals, 4 * axis + 2 * behind + beyond, cell)


def joined(parts: Sequence[Edges]) -> Edges:
    """Return the borders of several grids with cells of one size."""
    return Edges(
        np.vstack([part.points for part in parts]),
        np.vstack([part.normals for part in parts]),
        np.concatenate([part.kind for part in parts]),
        parts[0].cell,
    )


def find_edges(grey: Grey, *, matrix: Points, edges: Edges, reach_px: float = REACH_PX) -> Found:
    """Find each border near where a homography puts it.

    Args: the picture h × w; the 3 × 3 matrix from mm to pixels.
    """
    size_px = cell_px(matrix, edges)
    reach = min(REACH_CELLS, reach_px / size_px) * edges.cell
    count = int(min(MOST_SAMPLES, max(9, 2 * reach / edges.cell * size_px / STEP_PX)))
    steps = np.linspace(-reach, reach, count)
    profile, whole = profiles(grey, matrix=matrix, edges=edges, steps=steps)
    rise = np.maximum(np.diff(profile, axis=1), 0)
    # A window that falls off keeps a neighbour's flank from pulling.
    middle = (steps[1:] + steps[:-1]) / 2
    total = rise.sum(axis=1)
    safe = np.maximum(total, 1e-6)
    shift = rise @ middle / safe
    good = whole & (total >= LEAST_RISE)
    blur = blur_of(profile[good], rise[good], step=float(steps[1] - steps[0]))
    return Found(shift, np.where(good, np.minimum(total, 120.0) / 120.0, 0.0), blur)


def blur_of(profile: Points, rise: Points, *, step: float) -> float:
    """Return how far edges are spread, a standard deviation in the unit of ``step``.

    The middle of a bell is as high as its sum over √(2π) standard deviations.
    """
    if not len(profile):
        return 0.0
    low, high = np.quantile(profile, [0.05, 0.95])
    steepest = max(float(np.median(rise.max(axis=1))), 1e-6) / step
    return float(high - low) / (math.sqrt(2 * math.pi) * steepest)


def profiles(
    grey: Grey, *, matrix: Points, edges: Edges, steps: Points
) -> tuple[Points, NDArray[np.bool_]]:
    """Sample grey levels across borders: n × steps, and whether all lay in the picture."""
    tangents = edges.normals[:, ::-1] * edges.cell
    across = edges.normals[:, None] * steps[:, None]
    places = np.concatenate(
        [edges.points[:, None] + beside * tangents[:, None] + across for beside in BESIDE], axis=1
    )
    count, length = places.shape[0], len(steps)
    seen = through(matrix, places).astype(np.float32).reshape(count, -1, 2)
    levels = cv2.remap(
        grey, seen[..., 0], seen[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    # A profile is straight, so that it lies in the picture where its ends do.
    ends = seen[:, [0, length - 1, -length, -1]]
    limit = np.array([grey.shape[1] - 1, grey.shape[0] - 1])
    whole = ((ends >= 0) & (ends <= limit)).reshape(count, -1).all(axis=1)
    rows = levels.reshape(count, len(BESIDE), length).astype(np.float64)
    return rows.transpose(1, 0, 2).sum(axis=0) / len(BESIDE), np.asarray(whole)


def cell_px(matrix: Points, edges: Edges) -> float:
    """Return how many pixels a cell's side has in the middle of the borders."""
    middle = edges.points.mean(axis=0)
    near = np.array([middle, middle + (edges.cell, 0), middle + (0, edges.cell)])
    here, right, down = through(matrix, near)
    (a, b), (c, d) = right - here, down - here
    return float(np.sqrt(abs(a * d - b * c)))
