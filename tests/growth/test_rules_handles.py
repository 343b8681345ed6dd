"""Few points stand for many, and the heights that are offered."""

import math

import numpy as np
import pytest

from fraginv.base.errors import InputError
from fraginv.growth.rules.camera import Points, Scale
from fraginv.growth.rules.drawn import curve_of
from fraginv.growth.rules.handles import MOST, STRAY_MM, handles_of, strays
from fraginv.growth.rules.heights import (
    SIGMA_OFFERED_MM,
    check_height,
    height_from,
    heights_for,
    usual_height,
)
from fraginv.growth.rules.measuring import SIGMA_HEIGHT_MM, Height
from fraginv.growth.rules.outlines import area_mm2, smooth
from fraginv.stock.rules.stages import MEDIUMS
from tests.growth.cameras import make_view
from tests.growth.scenes.draws import a_frag
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


def test_a_height_that_is_offered_is_believed_less_than_one_by_ruler() -> None:
    for mm in (12.0, 15.0, 22.0):
        assert height_from(mm, medium="plug", scale=Scale.CARD) == Height(mm, SIGMA_OFFERED_MM)
    by_ruler = height_from(15.5, medium="plug", scale=Scale.CARD, through_water=True)
    assert by_ruler == Height(15.5, SIGMA_HEIGHT_MM, through_water=True)
    assert 2 * SIGMA_HEIGHT_MM < SIGMA_OFFERED_MM


def test_offered_heights_are_as_far_off_as_is_said() -> None:
    """Frags of the tests' scenes, nobody having looked how high they stand."""
    chance = np.random.default_rng(5)
    true = [a_frag(chance, at_mm=(0, 0)).height_mm for _ in range(300)]
    off = [usual_height("plug", scale=Scale.CARD) - one for one in true]
    assert 0.7 < math.sqrt(np.mean(np.square(off))) / SIGMA_OFFERED_MM < 1.4


def test_a_point_near_the_horizon_is_refused_and_not_drawn() -> None:
    """Its millimetres would be so many that no memory holds the curve through them."""
    view = make_view(tilt_deg=60)
    near = view.to_pixels([[-10, -10], [10, -10], [10, 10]])
    for far in ([0, -60_000], [0, 60_000]):
        handles = [*near, *view.to_pixels([far])]
        with pytest.raises(InputError, match="cannot see at this height"):
            curve_of(view, [(float(x), float(y)) for x, y in handles], height=Height(0.0))


@pytest.mark.parametrize("height", [-0.1, 151, math.nan, math.inf])
def test_a_height_that_cannot_be_is_refused(height: float) -> None:
    with pytest.raises(InputError, match="cannot be"):
        check_height(height)
