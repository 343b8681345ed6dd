"""Between pixels and millimetres: pinhole cameras at known places."""

import json
import math
from dataclasses import replace
from decimal import Decimal

import cv2
import numpy as np
import pytest

from fraginv.base.rules.optics import Optics
from fraginv.growth.rules.camera import (
    Focal,
    Points,
    Scale,
    View,
    focal_of,
    height_in_air,
    through,
    view_by_hand,
)
from fraginv.growth.rules.outlines import area_mm2
from tests.growth.cameras import make_view

GRID = np.array([[x, y] for x in (-20.0, 0.0, 35.0) for y in (-15.0, 4.0, 30.0)])
TILTED = make_view(tilt_deg=20, towards_deg=35, roll_deg=100, looks_at=(10, -5))


@pytest.mark.parametrize("height_mm", [0.0, 14.0])
def test_points_come_back_from_the_picture(height_mm: float) -> None:
    there = TILTED.to_pixels(GRID, height_mm)
    assert np.allclose(TILTED.to_plane(there, height_mm), GRID, atol=1e-9)


@pytest.mark.parametrize("height_mm", [0.0, 14.0])
def test_points_are_seen_where_opencv_sees_them(height_mm: float) -> None:
    """OpenCV's pinhole has z away from the camera, so that heights are negative there."""
    space = np.column_stack([GRID, np.full(len(GRID), -height_mm)])
    lens = np.array([[3000, 0, TILTED.centre[0]], [0, 3000, TILTED.centre[1]], [0, 0, 1]])
    turn, _ = cv2.Rodrigues(np.array(TILTED.rotation))
    seen, _ = cv2.projectPoints(space, turn, np.array(TILTED.translation), lens, None)
    assert np.allclose(seen.reshape(-1, 2), TILTED.to_pixels(GRID, height_mm), atol=1e-9)


def test_a_homography_sees_as_the_view_does_but_for_the_bend() -> None:
    seen = through(TILTED.homography(9.0), GRID)
    assert np.allclose(seen, TILTED.to_pixels(GRID, 9.0), atol=1e-9)
    bent = replace(TILTED, bend=0.02)
    assert np.allclose(through(bent.homography(9.0), GRID), seen)
    assert np.allclose(bent.to_plane(bent.to_pixels(GRID, 9.0), 9.0), GRID, atol=1e-7)
    # A point r focal lengths from the axis moves outwards by its share of r².
    away, moved = seen - TILTED.centre, bent.to_pixels(GRID, 9.0) - TILTED.centre
    square = (away**2).sum(axis=1, keepdims=True) / TILTED.focal_px**2
    assert np.allclose(moved, away * (1 + 0.02 * square))


def test_straight_from_above_lengths_follow_from_similar_triangles() -> None:
    view = make_view(distance_mm=300, focal_px=3000)
    assert view.distance_mm == 300
    assert view.tilt_deg == 0
    assert view.px_per_mm((0, 0)) == pytest.approx(10)
    assert view.px_per_mm((0, 0), 20) == pytest.approx(3000 / 280)
    assert view.to_pixels([[10, 0]]) == pytest.approx(np.array([[2099.5, 1499.5]]))


def test_what_stands_higher_looks_larger_whatever_the_tilt() -> None:
    """Planes that are parallel differ by (D − h)/D alone, with D at right angles to them."""
    at_plane = TILTED.to_plane(TILTED.to_pixels(GRID, 14.0), 0.0)
    larger = np.ptp(at_plane, axis=0) / np.ptp(GRID, axis=0)
    assert larger == pytest.approx(TILTED.distance_mm / (TILTED.distance_mm - 14.0))
    assert TILTED.distance_mm == pytest.approx(300 * math.cos(math.radians(20)))


def test_the_tilt_is_that_of_the_axis() -> None:
    assert TILTED.tilt_deg == pytest.approx(20)


def test_a_view_is_kept_as_json() -> None:
    kept = json.loads(json.dumps(TILTED.as_dict()))
    assert View.of_dict(kept) == TILTED


def test_the_focal_length_is_taken_over_the_diagonal() -> None:
    # 4,000 × 3,000 pixels have 5,000 along the diagonal, 35 mm film 43.267 mm.
    focal = focal_of(4000, 3000, focal_35_mm=Decimal(26))
    assert focal.px == pytest.approx(26 / 43.2666 * 5000, rel=1e-5)
    assert focal_of(3000, 4000, focal_35_mm=26.0) == focal


@pytest.mark.parametrize(
    ("optics", "sigma"), [(Optics.CAMERA, 0.06), (Optics.ALTERED, 0.25), (Optics.NONE, 0.06)]
)
def test_without_a_focal_length_that_of_phones_is_supposed(optics: str, sigma: float) -> None:
    focal = focal_of(4000, 3000, focal_35_mm=None, optics=optics)
    assert focal == Focal(focal_of(4000, 3000, focal_35_mm=26).px, sigma)


def test_heights_shrink_through_water() -> None:
    # A coin 13.3 mm above the bottom seems to stand at 10 mm.
    assert height_in_air(13.3, through_water=True) == pytest.approx(10)
    assert height_in_air(13.3, through_water=False) == 13.3


def test_two_points_and_a_length_make_a_scale() -> None:
    ends = [(100.0, 200.0), (100.0, 500.0)]
    view = view_by_hand(ends, length_mm=30, width=800, height=600, focal=Focal(700.0, 0.06))
    assert view.scale == Scale.HAND
    assert view.distance_mm == pytest.approx(70)
    found: Points = view.to_plane(ends)
    assert float(np.hypot(*(found[1] - found[0]))) == pytest.approx(30)
    assert 0.005 < view.sigma_scale < 0.02


def test_a_scale_set_by_hand_is_as_far_off_as_is_said() -> None:
    """Phones that lean by up to 15°, a known length anywhere beside the frag, fingers 2 px off."""
    off = []
    for seed in range(200):
        chance = np.random.default_rng((7, seed))
        true = make_view(tilt_deg=chance.uniform(0, 15), towards_deg=chance.uniform(0, 360))
        turn, away = chance.uniform(0, math.pi), chance.normal(0, 15, 2)
        half = 15 * np.array([math.cos(turn), math.sin(turn)])
        ends = true.to_pixels([away - half, away + half]) + chance.normal(0, 2, (2, 2))
        focal = Focal(true.focal_px)
        view = view_by_hand(ends, length_mm=30, width=4000, height=3000, focal=focal)
        square = true.to_pixels([[-10, -10], [10, -10], [10, 10], [-10, 10]])
        off.append((math.sqrt(area_mm2(view.to_plane(square))) / 20 - 1) / view.sigma_scale)
    assert 0.6 < np.mean(np.abs(off) < 1) < 0.9


@pytest.mark.parametrize(
    ("ends", "length_mm"), [([(1, 1), (1, 1)], 5.0), ([(1, 1), (5, 5)], 0.0)], ids=["same", "none"]
)
def test_no_scale_without_a_length(ends: list[tuple[int, int]], length_mm: float) -> None:
    with pytest.raises(ValueError, match="two different points"):
        view_by_hand(ends, length_mm=length_mm, width=8, height=6, focal=Focal(7))
