"""The homography that fits a printed grid's borders, by robust least squares."""

from typing import Final

import cv2
import numpy as np

from fraginv.growth.rules.camera import Points
from fraginv.growth.seeing.edges import Edges, Found, Grey, find_edges

ROUNDS: Final = 4
# Tukey's constant: 95 % as good as least squares where errors are normal.
# Source: Huber, Robust Statistics, 1981; from memory.
TUKEY: Final = 4.685
# No border is believed to be found better than this, in mm.
LEAST_SCALE: Final = 1e-4
RIDGE: Final = 1e-9


def fit_grid(grey: Grey, *, edges: Edges, start: Points) -> tuple[Points, Found]:
    """Return the homography from mm to pixels that fits a grid's borders, and where they are.

    Besides its eight numbers, dark cells may be larger or smaller than printed by a length
    of its own for each axis: so blur, sharpening, spread ink and gamma do no harm.

    Args: ``start`` is a 3 × 3 matrix that is wrong by less than half a cell.
    """
    matrix = start
    found = find_edges(grey, matrix=matrix, edges=edges)
    for _ in range(ROUNDS):
        change = correction(edges, found)
        matrix = np.asarray(matrix @ np.linalg.inv(change))
        found = find_edges(grey, matrix=matrix, edges=edges)
    return matrix / matrix[2, 2], found


def correction(edges: Edges, found: Found) -> Points:
    """Return the 3 × 3 matrix from where points were found to where they should be, in mm."""
    middle, reach = edges.points.mean(axis=0), float(np.ptp(edges.points, axis=0).max()) / 2
    place = (edges.points + found.shift[:, None] * edges.normals - middle) / reach
    normal, shift = edges.normals, found.shift / reach
    lifted = np.column_stack([place, np.ones(len(place))])
    inward = (normal * place).sum(axis=1)
    columns = np.column_stack(
        [
            normal[:, :1] * lifted,
            normal[:, 1:] * lifted,
            -inward[:, None] * place,
            -edges.kinds,
        ]
    )
    answer = robust_solution(columns, -shift, weight=found.weight, least=LEAST_SCALE / reach)
    change = np.eye(3) + np.append(answer[:8], 0.0).reshape(3, 3)
    frame = np.array(
        [[1 / reach, 0, -middle[0] / reach], [0, 1 / reach, -middle[1] / reach], [0, 0, 1]]
    )
    return np.asarray(np.linalg.inv(frame) @ change @ frame)


def robust_solution(columns: Points, wanted: Points, *, weight: Points, least: float) -> Points:
    """Solve least squares three times, each time believing less what strayed.

    Source: iteratively re-weighted least squares with Tukey's biweight.
    """
    belief = weight
    answer: Points = np.zeros(columns.shape[1])
    # A trace of a ridge, for kinds of borders that a grid may not have.
    ridge = RIDGE * np.eye(columns.shape[1])
    for _ in range(3):
        weighted = columns.T * belief
        answer = np.asarray(np.linalg.solve(weighted @ columns + ridge, weighted @ wanted), float)
        belief = weight * tukey(wanted - columns @ answer, weight=weight, least=least)
    return answer


def tukey(residual: Points, *, weight: Points, least: float) -> Points:
    """Return how far each residual is to be believed, from 0 to 1."""
    known = np.abs(residual[weight > 0])
    scale = max(1.4826 * float(np.median(known)), least) if len(known) else least
    share = np.clip(np.abs(residual) / (TUKEY * scale), 0, 1)
    return np.asarray((1 - share**2) ** 2)


def homography_of(points_mm: Points, points_px: Points) -> Points | None:
    """Return the homography that takes points in mm to pixels, None where there is none."""
    matrix, _ = cv2.findHomography(points_mm, points_px, 0)
    return None if matrix is None else np.asarray(matrix, dtype=np.float64)
