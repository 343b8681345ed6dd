"""Where the camera stood, from the borders of a printed grid: a bundle of one photograph.

All borders that were found are fitted at once: six numbers for the camera's place, its focal
length and the bend of its lens, both held to what is known beforehand, and how much larger
dark cells look than they were printed, along each axis. Weights and steps as in ``fitting``;
what is uncertain afterwards is the inverse of the normal equations, times the scatter.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np

from fraginv.growth.rules.camera import Focal, Points, Scale, View, row_of, through
from fraginv.growth.seeing.edges import KINDS, Edges, Found
from fraginv.growth.seeing.fitting import tukey

# Phones straighten their pictures; what is left of a lens' bend, in r' = r (1 + k r²).
# Common practice, no source.
SIGMA_BEND: Final = 0.015
SIGMA_NO_BEND: Final = 1e-6
# How much larger or smaller than printed dark cells may look, in cells.
MOST_INK_CELLS: Final = 0.3
STEPS: Final = 8
# Steps that are smaller than this change nothing that is measured.
SMALL_TURN: Final = 1e-5
SMALL_STEP_MM: Final = 1e-3
# Scatter below which borders are not believed, in pixels: the grid of the sensor itself.
LEAST_SCATTER_PX: Final = 0.02
# Numbers that are sought: turn (3), place (3), logarithm of the focal length, bend, ink (2).
TURN, PLACE, FOCAL, BEND, INK = slice(0, 3), slice(3, 6), 6, 7, slice(8, 8 + KINDS)
NUMBERS: Final = 8 + KINDS


@dataclass(frozen=True)
class Seen:
    """What was found of a grid: borders in mm, where each was seen in pixels, how surely.

    ``normals`` point across each border in the picture, one long.
    """

    edges: Edges
    pixels: Points
    normals: Points
    weight: Points


@dataclass(frozen=True)
class Guess:
    """A camera and ink that might explain what was seen."""

    view: View
    ink: Points

    def moved(self, step: Points) -> "Guess":
        """Return the guess that is a small step away."""
        turn = cv2.Rodrigues(np.ascontiguousarray(step[TURN]))[0] @ np.array(self.view.rotation)
        one, two, three = (row_of(row) for row in turn)
        view = replace(
            self.view,
            rotation=(one, two, three),
            translation=row_of(np.array(self.view.translation) + step[PLACE]),
            focal_px=self.view.focal_px * math.exp(step[FOCAL]),
            bend=self.view.bend + float(step[BEND]),
        )
        return Guess(view, self.ink + step[INK])

    def compared(self, seen: Seen) -> tuple[Points, Points]:
        """Return how far borders lie from where this guess has them, and how that falls.

        Returns: n in pixels, above 0 where a border was seen beyond; n × 16, by how much less
            that is for each number that grows by one.
        """
        view, turn = self.view, np.array(self.view.rotation)
        points = seen.edges.points + self.ink[seen.edges.kind, None] * seen.edges.normals
        arm = points @ turn[:, :2].T
        x, y, depth = (arm + np.array(view.translation)).T
        x, y = x / depth, y / depth
        square = x * x + y * y
        right, down = seen.normals.T * view.focal_px
        along = x * right + y * down
        swell = 1 + view.bend * square
        seen_x, seen_y = (seen.pixels - view.centre).T / view.focal_px
        off = right * (seen_x - swell * x) + down * (seen_y - swell * y)
        # How the place across the border grows with the point's three coordinates.
        pull_x = swell * right + 2 * view.bend * along * x
        pull_y = swell * down + 2 * view.bend * along * y
        pull = np.column_stack([pull_x, pull_y, -x * pull_x - y * pull_y]) / depth[:, None]
        spread = ((seen.edges.normals @ turn[:, :2].T) * pull) @ np.ones(3)
        columns = [np.cross(arm, pull), pull, swell * along, square * along]
        return off, np.column_stack([*columns, spread[:, None] * seen.edges.kinds])


def seen_borders(edges: Edges, found: Found, *, matrix: Points) -> Seen:
    """Turn shifts from where a homography put borders into pixels."""
    tangents = edges.normals[:, ::-1] * edges.cell
    places = edges.points + found.shift[:, None] * edges.normals
    ends = through(matrix, np.vstack([places - tangents / 2, places + tangents / 2]))
    along = ends[len(places) :] - ends[: len(places)]
    normals = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
    return Seen(edges, through(matrix, places), normals, found.weight)


@dataclass(frozen=True)
class Pose:
    """A view, and the scatter of all its numbers."""

    view: View
    covariance: Points
    cost: float

    def sigma_of_length(self, point_mm: tuple[float, float]) -> float:
        """Return the relative standard deviation of lengths in the plane around a point."""
        gradient = np.zeros(NUMBERS)
        for number in range(INK.start):
            step = np.zeros(NUMBERS)
            step[number] = 1e-5
            more = Guess(self.view, np.zeros(KINDS)).moved(step).view
            less = Guess(self.view, np.zeros(KINDS)).moved(-step).view
            # The same pixels, seen by both: how long is what lies between them?
            gradient[number] = math.log(scale_at(more, self.view, point_mm)) - math.log(
                scale_at(less, self.view, point_mm)
            )
        gradient /= 2e-5
        return math.sqrt(max(0.0, float(gradient @ self.covariance @ gradient)))


def scale_at(view: View, known: View, point_mm: tuple[float, float]) -> float:
    """Return how long one millimetre of a known view is in another, around a point."""
    corners = np.array([[-5.0, -5], [5, -5], [5, 5], [-5, 5]]) + np.array(point_mm)
    a, b, c, d = view.to_plane(known.to_pixels(corners))
    (ax, ay), (bx, by) = c - a, d - b
    return math.sqrt(abs(ax * by - ay * bx) / 2) / 10


def solve(seen: Seen, *, start: View, focal: Focal) -> Pose:
    """Return the camera that explains best what was seen.

    Source: Gauss-Newton on a robust cost; Triggs et al., Bundle Adjustment: A Modern
        Synthesis, 2000; from memory.
    """
    guess = Guess(start, np.zeros(KINDS))
    for _ in range(STEPS):
        off, slopes = guess.compared(seen)
        weight = seen.weight * tukey(off, weight=seen.weight, least=LEAST_SCATTER_PX)
        scatter = scatter_of(off, weight)
        weighted = slopes.T * (weight / scatter**2)
        away, sure = held(guess, focal=focal, cell=seen.edges.cell)
        normal = weighted @ slopes + np.diag(sure)
        step = np.asarray(np.linalg.solve(normal, weighted @ off - sure * away), float)
        guess = guess.moved(step)
        if np.abs(step[TURN]).max() < SMALL_TURN and np.abs(step[PLACE]).max() < SMALL_STEP_MM:
            break
    off, _ = guess.compared(seen)
    weight = seen.weight * tukey(off, weight=seen.weight, least=LEAST_SCATTER_PX)
    covariance = np.asarray(np.linalg.inv(normal), float)
    view = replace(
        guess.view,
        sigma_focal=math.sqrt(covariance[FOCAL, FOCAL]),
        residual_px=scatter_of(off, weight),
    )
    away, sure = held(guess, focal=focal, cell=seen.edges.cell)
    cost = 2 * float((seen.weight > 0).sum()) * math.log(view.residual_px)
    return Pose(view, covariance, cost + float(sure @ away**2))


def held(guess: Guess, *, focal: Focal, cell: float) -> tuple[Points, Points]:
    """Return how far each number is from what is known beforehand, and how surely it is known.

    A label is too small to tell a lens' bend from its own curl, so that it tells none.
    """
    away, sure = np.zeros(NUMBERS), np.zeros(NUMBERS)
    away[FOCAL], sure[FOCAL] = math.log(guess.view.focal_px / focal.px), 1 / focal.sigma**2
    bend = SIGMA_BEND if guess.view.scale == Scale.CARD else SIGMA_NO_BEND
    away[BEND], sure[BEND] = guess.view.bend, 1 / bend**2
    away[INK], sure[INK] = guess.ink, 1 / (MOST_INK_CELLS * cell) ** 2
    return away, sure


def scatter_of(off: Points, weight: Points) -> float:
    """Return the weighted root mean square, not below what a sensor can tell."""
    total = float(weight.sum())
    mean = float((weight * off**2).sum()) / total if total > 0 else 0.0
    return max(math.sqrt(mean), LEAST_SCATTER_PX)


def starts(matrix: Points, *, corners_mm: Points, view: View) -> list[View]:
    """Return the two places a camera may have that sees four corners as a homography does.

    Args: ``view`` has focal length and centre. Seen from straight above, the two are alike.
    Source: Collins and Bartoli, Int. J. Computer Vision 109 (2014) 252-286 (IPPE).
    """
    space = np.column_stack([corners_mm, np.zeros(len(corners_mm))])
    lens = np.array(
        [[view.focal_px, 0, view.centre[0]], [0, view.focal_px, view.centre[1]], [0, 0, 1]]
    )
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        space, through(matrix, corners_mm), lens, None, flags=cv2.SOLVEPNP_IPPE
    )
    found = []
    for turn, shift in zip(turns, shifts, strict=True):
        one, two, three = (row_of(row) for row in cv2.Rodrigues(turn)[0].tolist())
        found.append(
            replace(view, rotation=(one, two, three), translation=row_of(shift.ravel().tolist()))
        )
    return found


def blank_view(grey_shape: tuple[int, ...], *, focal: Focal, scale: Scale) -> View:
    """Return a view that knows its lens and not yet where it stands."""
    height, width = grey_shape[:2]
    return View(
        focal_px=focal.px,
        centre=((width - 1) / 2, (height - 1) / 2),
        rotation=((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
        translation=(0.0, 0.0, 1.0),
        scale=scale,
        sigma_focal=focal.sigma,
    )


def pose_of(seen: Seen, *, matrix: Points, view: View, focal: Focal) -> Pose:
    """Return the camera that explains best what was seen, of both that might."""
    low, high = seen.edges.points.min(axis=0), seen.edges.points.max(axis=0)
    corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    poses = [
        solve(seen, start=start, focal=focal)
        for start in starts(matrix, corners_mm=corners, view=view)
    ]
    return min(poses, key=lambda pose: pose.cost)
