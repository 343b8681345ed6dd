"""Few points stand for many, and the heights that are offered."""

import math

import numpy as np
import pytest

from fraginv.base.errors import InputError
from fraginv.growth.rules.camera import Points, Scale
from fraginv.growth.rules.handles import MOST, STRAY_MM, handles_of, strays
from fraginv.growth.rules.heights import check_height, heights_for, usual_height
from fraginv.growth.rules.outlines import area_mm2, smooth
from fraginv.stock.rules.stages import MEDIUMS
from tests.growth.scenes.shapes import disc, ellipse, lumpy, square


def outlines() -> dict[str, Points]:
    """Return outlines of several kinds, in mm."""
    chance = np.random.default_rng(8)
    return {
        "disc": disc(25).at(3, 4),
        "ellipse": ellipse(30, 12).at(0, 0, turn_deg=20),
        "square": square(20).at(0, 0),
        "lumpy": lumpy(chance, diameter_mm=24).at(5, 5),
        "rough": lumpy(chance, diameter_mm=18, roughness=0.16).at(5, 5),
        "small": lumpy(chance, diameter_mm=8).at(1, 1),
    }


@pytest.mark.parametrize("kind", list(outlines()))
def test_few_points_follow_an_outline(kind: str) -> None:
    outline = outlines()[kind]
    handles = handles_of(outline)
    curve = smooth(handles)
    assert 8 <= len(handles) < MOST
    assert strays(outline, curve).max() <= STRAY_MM + 0.05
    assert area_mm2(curve) == pytest.approx(area_mm2(outline), rel=3e-3)


def test_a_disc_needs_no_more_than_eight() -> None:
    handles = handles_of(disc(25).at(0, 0))
    assert len(handles) == 8
    # The area of a disc of 25 mm is 490.87 mm².
    assert area_mm2(smooth(handles)) == pytest.approx(490.87, rel=2e-3)


def test_what_is_ragged_beyond_measure_ends_with_the_most() -> None:
    angle = np.linspace(0, 2 * math.pi, 400, endpoint=False)
    reach = 12 + 3 * np.sign(np.sin(60 * angle))
    star = np.column_stack([np.cos(angle), np.sin(angle)]) * reach[:, None]
    assert len(handles_of(star)) == MOST


@pytest.mark.parametrize("medium", MEDIUMS)
@pytest.mark.parametrize("scale", Scale)
def test_heights_begin_with_the_usual_one(medium: str, scale: Scale) -> None:
    offered = heights_for(medium, scale=scale)
    heights = [one.mm for one in offered]
    assert heights == sorted(heights)
    assert usual_height(medium, scale=scale) in heights
    assert all(check_height(mm) == mm for mm in heights)


@pytest.mark.parametrize("height", [-0.1, 151, math.nan, math.inf])
def test_a_height_that_cannot_be_is_refused(height: float) -> None:
    with pytest.raises(InputError, match="cannot be"):
        check_height(height)
