"""The card or a label as a measure: where the camera stood, or why nobody can tell."""

import math
from collections.abc import Sequence, Set
from dataclasses import dataclass, replace
from functools import cache
from typing import Final, Protocol

import numpy as np

from fraginv.base.rules.card import CELL_MM, MARKERS, WINDOW
from fraginv.base.symbols import Symbol, make_symbol
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Focal, Points, Scale, View
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.edges import Edges, Found, Grey, cell_px, edges_of, find_edges, joined
from fraginv.growth.seeing.fitting import fit_grid, homography_of
from fraginv.growth.seeing.markers import card_matrix, find_markers
from fraginv.growth.seeing.pose import Pose, blank_view, pose_of, seen_borders

# What paper and printer do to lengths, as relative deviations. A label may also be curled or
# stand off what it lies on by some tenths of a millimetre.
SIGMA_CARD: Final = 0.001
SIGMA_LABEL: Final = 0.003
# Of a label's borders, the share that must be found, and of a marker's.
LEAST_FOUND: Final = 0.35
# Of a marker that the detector passed over, the share of borders that must lie within so many
# cells of their places. Anything else has hardly half of them, of the right sense.
LEAST_THERE: Final = 0.85
NEAR_CELLS: Final = 0.25
# Where a fit is worse than this, something is bent: the card in mm, a label in its cells, which
# are smaller; and no fit is expected to be better than some pixels.
LARGEST_MISFIT_MM: Final = 0.1
LARGEST_MISFIT_CELLS: Final = 0.08
LARGEST_MISFIT_PX: Final = 0.5
# What is bent so that borders stray by 1 mm stands off its plane by so many mm on the average.
# Source: photographs of curled cards from tests/growth/scenes.
LIFT: Final = 12.0
LARGEST_BLUR_MM: Final = 0.35
# How far from a label its frag stands, in sides of its symbol.
AWAY: Final = 2.0


class ReadLabel(Protocol):
    """A label whose symbol was read: corners in pixels, clockwise from its own top left."""

    @property
    def text(self) -> str: ...

    @property
    def version(self) -> int: ...

    @property
    def level(self) -> str: ...

    @property
    def corners(self) -> Points | Sequence[Sequence[float]]: ...


@dataclass(frozen=True)
class Sight:
    """A view, or None where there is none, and all that is to be said of it."""

    view: View | None
    problems: tuple[Problem, ...] = ()


def view_of_card(grey: Grey, *, focal: Focal) -> Sight | None:
    """Return where the camera stood by the measuring card; None where no marker is seen.

    Args: the upright photograph h × w.
    """
    seen = find_markers(grey)
    if not seen:
        return None
    start = card_matrix(seen) if len(seen) > 1 else None
    if start is None:
        return Sight(None, (problems.CARD_CUT_OFF,))
    px = cell_px(start, joined(marker_edges()))
    if px < problems.LEAST_PX_PER_MODULE:
        return Sight(None, (problems.card_too_small(px),))
    fit = fit_card(grey, numbers={found.marker.number for found in seen}, start=start)
    if len(fit.numbers) < problems.FEWEST_MARKERS or share_found(fit.found) < LEAST_FOUND:
        return Sight(None, (problems.CARD_CUT_OFF,))
    view = blank_view(grey.shape, focal=focal, scale=Scale.CARD)
    borders = seen_borders(fit.edges, fit.found, matrix=fit.matrix)
    pose = pose_of(borders, matrix=fit.matrix, view=view, focal=focal)
    place = pose.sigma_of_length(WINDOW.centre)
    sigma = math.hypot(SIGMA_CARD, place, sigma_of_lift(pose.view, px_per_mm=px / CELL_MM))
    view = replace(pose.view, sigma_scale=sigma, markers=len(fit.numbers))
    limits = Limits("card", px / CELL_MM, LARGEST_MISFIT_MM, LARGEST_BLUR_MM)
    said = doubts(view, blur_mm=fit.found.blur, limits=limits)
    if len(fit.numbers) < len(MARKERS) - 2:
        said = (problems.FEW_MARKERS_LEFT, *said)
    return Sight(view, said)


@dataclass(frozen=True)
class CardFit:
    """The card's markers that are seen, their borders, and the homography that fits them."""

    numbers: frozenset[int]
    edges: Edges
    matrix: Points
    found: Found


def fit_card(grey: Grey, *, numbers: Set[int], start: Points) -> CardFit:
    """Fit the markers that were found, and those that can be seen where they must be.

    Blur and glare keep the detector from some that are plain once one knows where to look.
    """
    edges = joined([marker_edges()[number] for number in sorted(numbers)])
    matrix, found = fit_grid(grey, edges=edges, start=start)
    more = {
        marker.number
        for marker in MARKERS
        if marker.number not in numbers
        and is_there(find_edges(grey, matrix=matrix, edges=marker_edges()[marker.number]))
    }
    if more:
        return fit_card(grey, numbers=numbers | more, start=matrix)
    return CardFit(frozenset(numbers), edges, matrix, found)


def is_there(found: Found) -> bool:
    """Tell whether a marker's borders lie where they were looked for."""
    near = np.abs(found.shift) < NEAR_CELLS * CELL_MM
    return float(((found.weight > 0) & near).mean()) >= LEAST_THERE


@cache
def marker_edges() -> tuple[Edges, ...]:
    """Return each marker's borders, by its number."""
    return tuple(
        edges_of(marker.cells, cell=CELL_MM, at=(marker.place.left_mm, marker.place.top_mm))
        for marker in MARKERS
    )


def view_of_label(grey: Grey, *, label: ReadLabel, symbol_mm: float, focal: Focal) -> Sight:
    """Return where the camera stood by one label; its symbol's top left corner is the origin.

    Args: the upright photograph h × w; the printed symbol's side without its quiet margin.
    """
    symbol = make_symbol(label.text, level=label.level)
    cell = symbol_mm / symbol.modules
    corners_mm = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * symbol_mm
    start = homography_of(corners_mm, np.asarray(label.corners, dtype=np.float64))
    if start is None or symbol.version != label.version:
        return Sight(None, (problems.LABEL_LOST,))
    edges = symbol_edges(symbol, cell=cell)
    px = cell_px(start, edges)
    if px < problems.LEAST_PX_PER_MODULE:
        return Sight(None, (problems.too_small(px),))
    matrix, found = fit_grid(grey, edges=edges, start=start)
    if share_found(found) < LEAST_FOUND:
        return Sight(None, (problems.LABEL_LOST,))
    view = blank_view(grey.shape, focal=focal, scale=Scale.LABEL)
    seen_edges = seen_borders(edges, found, matrix=matrix)
    pose = pose_of(seen_edges, matrix=matrix, view=view, focal=focal)
    place = sigma_around(pose, symbol_mm)
    sigma = math.hypot(SIGMA_LABEL, place, sigma_of_lift(pose.view, px_per_mm=px / cell))
    view = replace(pose.view, sigma_scale=sigma)
    blur = min(problems.LARGEST_BLUR_MODULES * cell, LARGEST_BLUR_MM)
    limits = Limits("label", px / cell, LARGEST_MISFIT_CELLS * cell, blur)
    return Sight(view, doubts(view, blur_mm=found.blur, limits=limits))


def symbol_edges(symbol: Symbol, *, cell: float) -> Edges:
    """Return the borders of a printed symbol whose top left corner is the origin."""
    return edges_of(symbol.rows, cell=cell)


def sigma_around(pose: Pose, symbol_mm: float) -> float:
    """Return how uncertain lengths are where a label's frag stands, on whichever side."""
    half, away = symbol_mm / 2, AWAY * symbol_mm
    places = ((half + away, half), (half - away, half), (half, half + away), (half, half - away))
    sigmas = [pose.sigma_of_length(place) for place in places]
    return math.sqrt(sum(sigma**2 for sigma in sigmas) / len(sigmas))


def share_found(found: Found) -> float:
    """Return which part of the borders was found."""
    return float((found.weight > 0).mean())


def sigma_of_lift(view: View, *, px_per_mm: float) -> float:
    """Return how uncertain lengths are because what they are measured by is bent."""
    return LIFT * view.residual_px / px_per_mm / view.distance_mm


@dataclass(frozen=True)
class Limits:
    """From where on a card or a label is called bent or blurred; lengths in mm."""

    what: str
    px_per_mm: float
    misfit: float
    blur: float


def doubts(view: View, *, blur_mm: float, limits: Limits) -> tuple[Problem, ...]:
    """Return what is to be said of a view that was found."""
    said = []
    if view.tilt_deg > problems.LARGEST_TILT_DEG:
        said.append(problems.tilted(view.tilt_deg))
    if blur_mm > limits.blur:
        said.append(problems.blurred(blur_mm * limits.px_per_mm))
    if view.residual_px > max(limits.misfit * limits.px_per_mm, LARGEST_MISFIT_PX):
        said.append(problems.does_not_fit(view.residual_px, what=limits.what))
    return tuple(said)
