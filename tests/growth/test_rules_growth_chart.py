"""Where sizes stand in the chart, and how outlines are laid over each other."""

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.growth.rules.growth import Known, Size
from fraginv.growth.rules.growth_chart import PANEL, draw_growth, nice_step
from fraginv.growth.rules.overlay import (
    SIDE,
    bar_for,
    laid_over,
    own_shape,
    side_for,
    spin,
    turn_to_fit,
)
from tests.growth.rows import outline

DAY = date(2026, 3, 1)


def size(day: int, area: float | None, across: float | None) -> Size:
    return Size(
        DAY + timedelta(days=day),
        Known(area, 20) if area else None,
        Known(across, 0.5) if across else None,
    )


def test_nothing_gives_no_picture() -> None:
    assert draw_growth([], since=DAY) is None
    assert draw_growth([Size(DAY)], since=DAY) is None


def test_points_stand_at_their_day_and_size_with_their_error() -> None:
    chart = draw_growth([size(0, 200, 20), size(50, 400, 30), size(100, 780, 40)], since=DAY)
    assert chart is not None
    areas, widths = chart.panels
    assert [mark.x for mark in areas.marks] == [78, 327, 576]
    # From 0 to 10 cm² in steps of 5: 7.8 cm² and its error of 0.2.
    assert [level.text for level in areas.levels] == ["0", "5", "10"]
    last = areas.marks[-1]
    assert last.y == pytest.approx(areas.foot - PANEL * 0.78, abs=0.1)
    assert last.below - last.above == pytest.approx(PANEL * 2 * 1.96 * 0.02, abs=0.2)
    assert widths.foot > areas.foot
    assert [tick.day for tick in chart.ticks] == [0, 20, 40, 60, 80, 100]


def test_one_size_and_widths_alone_are_drawn() -> None:
    chart = draw_growth([size(0, None, 20)], since=DAY)
    assert chart is not None
    assert [panel.title for panel in chart.panels] == ["Largest diameter, mm"]


@given(st.floats(min_value=1e-3, max_value=1e6))
def test_steps_are_round_and_no_smaller(least: float) -> None:
    found = nice_step(least)
    assert least * (1 - 1e-6) <= found <= least * 2.5 * (1 + 1e-6)


def test_an_outline_is_turned_as_it_was_before() -> None:
    first = np.array(outline(300.0))
    for angle in (0.0, 0.7, 2.5, -1.2):
        turned = spin(np.asarray(first), angle)
        found = turn_to_fit(first, turned) % (2 * math.pi)
        assert min(abs(found - angle % (2 * math.pi)), 2 * math.pi - found) < 0.05 or math.isclose(
            found, angle % (2 * math.pi), abs_tol=0.05
        )
    assert spin(np.array([[1.0, 0.0]]), math.pi / 2)[0] == pytest.approx([0, 1], abs=1e-9)


def test_shapes_are_in_one_scale_around_the_middle() -> None:
    small, large = outline(100.0), outline(400.0)
    side = side_for([small, large])
    assert side % 5 == 0
    shapes = laid_over([small, large], side_mm=side)

    def width(path: str) -> float:
        points = [float(one.split()[0]) for one in path[1:-1].split("L")]
        return max(points) - min(points)

    assert width(shapes[1].path) == pytest.approx(2 * width(shapes[0].path), rel=0.02)
    assert width(shapes[1].path) == pytest.approx(
        width(own_shape(large, side_mm=side).path), rel=1e-6
    )
    assert width(shapes[1].path) < SIDE
    bar = bar_for(side)
    assert bar.mm == (10 if side >= 25 else 5)
    assert bar.end - bar.start == pytest.approx(SIDE * bar.mm / side)
    assert bar_for(10).mm == 5
