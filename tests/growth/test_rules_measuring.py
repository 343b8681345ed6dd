"""Sizes of outlines that cameras at known places see, and how far they are to be believed."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Points, View
from fraginv.growth.rules.measuring import (
    Height,
    Length,
    Measured,
    measure_length,
    measure_outline,
)
from fraginv.growth.rules.outlines import REVIEWED, SUGGESTED, EdgeError
from fraginv.growth.rules.problems import Problem
from tests.growth.cameras import make_view

EXACT = EdgeError(0, 1, 0)
TILTED = make_view(tilt_deg=22, towards_deg=70, roll_deg=40, looks_at=(5, 8), distance_mm=260)


def disc_mm(
    diameter_mm: float = 25.0, *, at: tuple[float, float] = (0.0, 0.0), points: int = 720
) -> Points:
    """Return a disc's outline in mm."""
    angle = np.linspace(0, 2 * math.pi, points, endpoint=False)
    return np.column_stack([np.cos(angle), np.sin(angle)]) * diameter_mm / 2 + at


def measured(found: Measured | Problem) -> Measured:
    """Return a size that must have been found."""
    assert isinstance(found, Measured), found
    return found


@pytest.mark.parametrize("bend", [0.0, 0.02])
@pytest.mark.parametrize("height_mm", [0.0, 14.0])
def test_a_disc_of_25_mm_measures_490_87_mm2(bend: float, height_mm: float) -> None:
    view = replace(TILTED, bend=bend)
    outline = view.to_pixels(disc_mm(at=(12, -6)), height_mm)
    found = measured(measure_outline(view, outline_px=outline, height=Height(height_mm)))
    assert found.area_mm2 == pytest.approx(490.87, rel=1e-4)
    assert found.diameter_mm == pytest.approx(25, rel=1e-6)
    assert found.is_corrected
    assert found.problems == ()
    assert np.allclose(found.outline_mm, disc_mm(at=(12, -6)), atol=1e-6)


def test_without_a_height_it_says_so_and_by_how_much() -> None:
    view = make_view(distance_mm=265)
    outline = view.to_pixels(disc_mm(), 15.0)
    found = measured(measure_outline(view, outline_px=outline, height=Height(None)))
    assert not found.is_corrected
    assert found.problems == (problems.HEIGHT_MISSING,)
    # Similar triangles: (265 / 250)² - 1 = 12.36 %.
    assert found.area_mm2 / 490.87 - 1 == pytest.approx(0.1236, abs=1e-3)
    assert "12 % in area" in problems.HEIGHT_MISSING.text
    assert found.sigma_area_mm2 > 0.1 * found.area_mm2


def test_through_water_heights_shrink_and_sizes_are_less_certain() -> None:
    view = make_view()
    outline = view.to_pixels(disc_mm(), 10.0)
    wet = Height(13.3, through_water=True)
    found = measured(measure_outline(view, outline_px=outline, height=wet))
    dry = measured(measure_outline(view, outline_px=outline, height=Height(10)))
    assert found.area_mm2 == pytest.approx(490.87, rel=1e-4)
    assert found.problems == (problems.THROUGH_WATER,)
    assert found.sigma_area_mm2 > 3 * dry.sigma_area_mm2


@pytest.mark.parametrize(
    ("changes", "height", "error"),
    [
        ({"sigma_scale": 0.01, "sigma_focal": 0.0}, Height(12, 0), EXACT),
        ({"sigma_focal": 0.06}, Height(12, 0), EXACT),
        ({"sigma_focal": 0.0}, Height(12, 1.5), EXACT),
    ],
    ids=["scale", "focal", "height"],
)
def test_the_uncertainty_is_what_many_wrong_guesses_give(
    changes: dict[str, float], height: Height, error: EdgeError
) -> None:
    """Five hundred cameras and heights that are wrong by as much as is said."""
    view = replace(make_view(distance_mm=250), **changes)  # type: ignore[arg-type]
    outline = view.to_pixels(disc_mm(points=36), 12.0)
    said = measured(measure_outline(view, outline_px=outline, height=height, error=error))
    chance, areas = np.random.default_rng(3), []
    for _ in range(500):
        scale, focal = 1 + chance.normal(0, [view.sigma_scale, view.sigma_focal])
        guess = replace(
            view,
            focal_px=view.focal_px * focal,
            translation=(0.0, 0.0, view.translation[2] * focal * scale),
        )
        assert height.mm is not None
        high = Height(height.mm + chance.normal(0, height.sigma_mm), 0)
        areas.append(measured(measure_outline(guess, outline_px=outline, height=high)).area_mm2)
    assert np.mean(areas) == pytest.approx(said.area_mm2, rel=5e-3)
    # So many draws tell a standard deviation to 1/√1000, 3 %.
    assert np.std(areas) == pytest.approx(said.sigma_area_mm2, rel=0.12)


def test_an_outline_that_nobody_looked_at_is_less_certain() -> None:
    outline = TILTED.to_pixels(disc_mm(), 5)
    sigmas = [
        measured(
            measure_outline(TILTED, outline_px=outline, height=Height(5), error=error)
        ).sigma_area_mm2
        for error in (EXACT, REVIEWED, SUGGESTED)
    ]
    assert sigmas == sorted(sigmas)
    assert sigmas[2] > 2 * sigmas[1]


def bow() -> Points:
    """Return an outline that crosses itself."""
    return np.array([[100, 100], [300, 300], [300, 100], [100, 300.0]])


def slanting() -> View:
    """Return a camera that looks so far to the side that it sees the horizon."""
    return make_view(tilt_deg=75, distance_mm=300)


@pytest.mark.parametrize(
    ("view", "outline", "height", "problem"),
    [
        (TILTED, bow(), Height(5), problems.OUTLINE_CROSSES),
        (TILTED, bow()[:2], Height(5), problems.OUTLINE_EMPTY),
        (make_view(), [[5, 5], [9, 9], [20, 20]], Height(0), problems.OUTLINE_EMPTY),
        (TILTED, [[5, 5], [9, 9], [5, 5], [7, 7]], Height(5), problems.OUTLINE_CROSSES),
        (TILTED, bow()[[0, 2, 1, 3]], Height(400), problems.TOO_HIGH),
        (slanting(), [[0, 0], [3999, 0], [3999, 2999], [0, 2999]], Height(5), None),
    ],
    ids=["crossing", "two points", "a line", "along itself", "too high", "horizon"],
)
def test_what_cannot_be_measured_says_why(
    view: View, outline: Points, height: Height, problem: Problem | None
) -> None:
    found = measure_outline(view, outline_px=outline, height=height)
    assert found == (problem or problems.OUTLINE_BEYOND)
    assert isinstance(found, Problem)
    assert found.stops


def test_what_reaches_the_edge_or_is_the_plug_is_said() -> None:
    view = make_view()
    edge = view.to_pixels(disc_mm(at=(187.9, 0)), 0)
    found = measured(
        measure_outline(view, outline_px=edge, height=Height(0), size=(4000, 3000), plug_mm=25.4)
    )
    assert found.problems == (problems.OUTLINE_AT_EDGE, problems.OUTLINE_IS_PLUG)
    inside = measured(
        measure_outline(
            view,
            outline_px=view.to_pixels(disc_mm(22)),
            height=Height(0),
            size=(4000, 3000),
            plug_mm=25.4,
        )
    )
    assert inside.problems == ()


def test_a_length_between_two_points() -> None:
    ends = TILTED.to_pixels([[0, 0], [18, 24]], 9)
    found = measure_length(TILTED, ends_px=ends, height=Height(9))
    assert isinstance(found, Length)
    assert found.mm == pytest.approx(30)
    assert 0.25 < found.sigma_mm < 0.4
    bare = measure_length(TILTED, ends_px=ends, height=Height(None))
    assert isinstance(bare, Length)
    assert bare.problems == (problems.HEIGHT_MISSING,)
    assert bare.mm > 30.5


def test_lengths_that_are_none_say_why() -> None:
    same = [[10, 10], [10, 10]]
    assert measure_length(TILTED, ends_px=same, height=Height(1)) == problems.OUTLINE_EMPTY
    far = [[10, 10], [20, 10]]
    assert measure_length(TILTED, ends_px=far, height=Height(500)) == problems.TOO_HIGH
    sky = measure_length(slanting(), ends_px=[[0, 0], [3999, 2999]], height=Height(1))
    assert sky == problems.OUTLINE_BEYOND
