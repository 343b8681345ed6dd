"""Outlines: areas, diameters and curves, against formulas and reference libraries."""

import math

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from scipy.spatial import ConvexHull
from scipy.spatial.distance import pdist

from fraginv.growth.rules.outlines import (
    REVIEWED,
    SUGGESTED,
    EdgeError,
    Points,
    area_mm2,
    as_points,
    centroid,
    crosses_itself,
    feret_mm,
    hull,
    perimeter_mm,
    sigma_of_area,
    sigma_of_diameter,
    simplify,
    smooth,
    touches_edge,
)
from tests.growth.scenes.shapes import some_coral

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
BOW = np.array([[0.0, 0.0], [10.0, 10.0], [10.0, 0.0], [0.0, 10.0]])


def ring(count: int, *, radius: float = 12.5, lobes: float = 0.0) -> Points:
    """Return points around a circle, with five lobes where asked."""
    angle = np.arange(count) * 2 * math.pi / count
    reach = radius * (1 + lobes * np.cos(5 * angle))
    return np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])


def test_a_disc_of_25_mm_is_490_87_mm2() -> None:
    assert area_mm2(ring(2000)) == pytest.approx(math.pi / 4 * 25**2, rel=1e-5)
    assert round(area_mm2(ring(20000)), 2) == 490.87
    assert feret_mm(ring(2000)) == pytest.approx(25)
    assert perimeter_mm(ring(2000)) == pytest.approx(math.pi * 25, rel=1e-5)


@pytest.mark.parametrize("points", [SQUARE, SQUARE[::-1]], ids=["one way", "the other"])
def test_a_square(points: Points) -> None:
    assert area_mm2(points) == 100
    assert centroid(points) == pytest.approx((5, 5))
    assert feret_mm(points) == pytest.approx(math.sqrt(200))
    assert perimeter_mm(points) == 40


def test_the_centre_is_that_of_the_area_and_not_of_the_points() -> None:
    crowded = np.vstack([np.column_stack([np.linspace(0, 9.9, 80), np.zeros(80)]), SQUARE[1:]])
    assert centroid(crowded) == pytest.approx((5, 5))


def test_a_line_has_no_area_and_its_middle_is_that_of_its_points() -> None:
    line = [(0, 0), (4, 0), (8, 0)]
    assert area_mm2(line) == 0
    assert centroid(line) == (4, 0)
    assert feret_mm(line) == 8
    assert feret_mm([(3, 3), (3, 3), (3, 3)]) == 0


@given(st.integers(0, 10_000), st.integers(3, 40))
def test_measures_agree_with_opencv_and_scipy(seed: int, count: int) -> None:
    chance = np.random.default_rng(seed)
    points = np.round(ring(count, lobes=0.3) + chance.normal(0, 0.3, (count, 2)), 3)
    single = points.astype(np.float32)
    assert area_mm2(points) == pytest.approx(cv2.contourArea(single), abs=1e-2)
    assert perimeter_mm(points) == pytest.approx(cv2.arcLength(single, True), rel=1e-4)
    assert feret_mm(points) == pytest.approx(float(pdist(points).max()))
    assert area_mm2(hull(points)) == pytest.approx(float(ConvexHull(points).volume))
    if area_mm2(points) > 50:
        seen = cv2.moments(single)
        found = (seen["m10"] / seen["m00"], seen["m01"] / seen["m00"])
        assert centroid(points) == pytest.approx(found, abs=1e-2)


@pytest.mark.parametrize(("count", "most"), [(8, 5e-3), (12, 1e-3), (40, 1e-4)])
def test_a_smooth_curve_keeps_the_area_that_chords_lose(count: int, most: float) -> None:
    true = math.pi / 4 * 25**2
    # What chords lose of a circle. Source: area of a regular polygon, n/2 r² sin(2π/n).
    chords = count / 2 * 12.5**2 * math.sin(2 * math.pi / count)
    assert area_mm2(ring(count)) == pytest.approx(chords)
    assert abs(area_mm2(smooth(ring(count), spacing_mm=0.02)) / true - 1) < most
    assert 1 - chords / true > 4 * most


def test_the_curve_is_the_periodic_spline_of_scipy() -> None:
    points = ring(11, lobes=0.25)
    closed = np.vstack([points, points[:1]])
    at = np.concatenate([[0], np.cumsum(np.sqrt(np.hypot(*np.diff(closed, axis=0).T)))])
    spline = CubicSpline(at, closed, bc_type="periodic")
    dense = spline(np.linspace(0, at[-1], 20001)[:-1])
    curve = smooth(points, spacing_mm=0.01)
    assert area_mm2(curve) == pytest.approx(area_mm2(dense), rel=1e-5)
    assert feret_mm(curve) == pytest.approx(feret_mm(dense[::20]), rel=1e-4)


def test_a_curve_goes_through_its_points_and_has_none_twice() -> None:
    points = ring(9, lobes=0.3)
    curve = smooth(np.repeat(points, 2, axis=0), spacing_mm=0.3)
    for point in points:
        assert np.hypot(*(curve - point).T).min() < 1e-12
    steps = np.hypot(*(np.roll(curve, -1, axis=0) - curve).T)
    assert steps.min() > 0
    assert steps.max() < 0.45


def test_a_curve_through_three_points_is_round() -> None:
    assert area_mm2(smooth(ring(3))) > 1.8 * area_mm2(ring(3))
    assert not crosses_itself(smooth(ring(3)))
    assert np.array_equal(smooth([(0, 0), (5, 1), (5, 1)]), [(0, 0), (5, 1)])


def test_hand_set_points_measure_without_bias() -> None:
    """Points each 2 mm, set with an error of 0.2 mm, of which chords lose 2 %."""
    chance = np.random.default_rng(7)
    true = area_mm2(ring(4000, radius=7, lobes=0.15))
    chords, curves = [], []
    for _ in range(60):
        clicks = ring(24, radius=7, lobes=0.15) + chance.normal(0, 0.2, (24, 2))
        chords.append(area_mm2(clicks) / true - 1)
        curves.append(area_mm2(smooth(clicks)) / true - 1)
    assert np.mean(chords) < -0.015
    assert abs(np.mean(curves)) < 0.006
    # What it says of its own error: 60 draws tell a deviation to a tenth.
    said = sigma_of_area(ring(24, radius=7, lobes=0.15), error=EdgeError(0.2, 2.0, 0)) / true
    assert np.std(curves) == pytest.approx(said, rel=0.4)


def test_a_simplified_outline_strays_no_farther_than_it_may() -> None:
    dense = ring(900, radius=8, lobes=0.2)
    few = simplify(dense)
    assert 30 < len(few) < 120
    assert abs(area_mm2(few) / area_mm2(dense) - 1) < 0.003
    inside = few.astype(np.float32)
    away = [abs(cv2.pointPolygonTest(inside, (float(x), float(y)), True)) for x, y in dense]
    assert max(away) < 0.0501
    same = cv2.approxPolyDP(dense.astype(np.float32), 0.05, True)
    assert len(few) == pytest.approx(len(same), rel=0.15)


def test_what_is_simple_stays() -> None:
    assert np.array_equal(simplify(SQUARE), SQUARE)
    assert len(simplify(SQUARE[:3])) == 3
    doubled = np.vstack([SQUARE, SQUARE[-1:], [[0.0, 5.0]]])
    assert np.array_equal(simplify(doubled), SQUARE)
    assert len(simplify([(0, 0), (5, 5), (0, 0), (9, 1)])) == 4
    assert len(simplify([(1, 1), (1, 1), (1, 1)])) == 1


@pytest.mark.parametrize(
    ("points", "crosses"),
    [
        (SQUARE, False),
        (BOW, True),
        (ring(300, lobes=0.4), False),
        (np.vstack([SQUARE, [[5.0, -1.0]]]), True),
        (np.array([[0, 0], [10, 0], [5, 0], [5, 5.0]]), True),
        (np.array([[0, 0], [4, 0], [8, 1.0]]), False),
        (np.array([[0, 0], [0, 0], [4, 0], [8, 1], [4, 8.0]]), False),
    ],
    ids=["square", "bow", "lobes", "dent", "along itself", "triangle", "twice one point"],
)
def test_outlines_that_cross_themselves(points: Points, crosses: bool) -> None:
    assert crosses_itself(points) is crosses


@pytest.mark.parametrize(
    ("shift", "touches"),
    [((5, 5), False), ((0, 5), True), ((5, 0), True), ((38, 5), True), ((5, 18), True)],
)
def test_outlines_that_touch_the_edge(shift: tuple[int, int], touches: bool) -> None:
    assert touches_edge(SQUARE + shift, width=50, height=30) is touches


@pytest.mark.parametrize(
    "outline",
    [[(0, 0), (1, 1)], [1, 2, 3], [(0, 0, 0)] * 4, [(0, 0), (1, math.nan), (2, 0)]],
    ids=["two", "flat", "solid", "nan"],
)
def test_what_is_no_outline_is_refused(outline: list[object]) -> None:
    with pytest.raises(ValueError, match="an outline"):
        as_points(outline)  # type: ignore[arg-type]


def test_what_nobody_looked_at_is_less_certain() -> None:
    disc = ring(200)
    assert sigma_of_area(disc, error=REVIEWED) / area_mm2(disc) < 0.01
    assert 0.03 < sigma_of_area(disc, error=SUGGESTED) / area_mm2(disc) < 0.06
    assert sigma_of_diameter(SUGGESTED) > 2 * sigma_of_diameter(REVIEWED) > 0.5


@pytest.mark.parametrize("spacing_mm", [2.0, 3.0])
def test_outlines_drawn_by_hand_stray_as_far_as_is_said(spacing_mm: float) -> None:
    """Corals with points set 0.2 mm off; of a normal law 68 % lie within one deviation."""
    near: list[tuple[bool, bool]] = []
    for seed in range(200):
        chance = np.random.default_rng((6, seed))
        coral = some_coral(chance, diameter_mm=chance.uniform(10, 30))
        rim = simplify(coral.outline, eps_mm=0.0)
        count = round(perimeter_mm(rim) / spacing_mm)
        along = np.cumsum(np.hypot(*(rim - np.roll(rim, 1, axis=0)).T))
        places = np.interp(np.linspace(0, along[-1], count, endpoint=False), along, range(len(rim)))
        clicked = rim[places.astype(int)] + chance.normal(0, REVIEWED.point, (count, 2))
        drawn = smooth(clicked)
        area_off = abs(area_mm2(drawn) - coral.area_mm2)
        across_off = abs(feret_mm(drawn) - coral.diameter_mm)
        near.append(
            (
                area_off < sigma_of_area(drawn, error=REVIEWED),
                across_off < sigma_of_diameter(REVIEWED),
            )
        )
    shares = np.mean(near, axis=0)
    assert (shares > 0.59).all()
    assert (shares < 0.95).all()
