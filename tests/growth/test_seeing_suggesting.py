"""Outlines suggested from one tap, held against corals of known outline."""

from dataclasses import replace

import numpy as np
import pytest

from fraginv.base.rules import card
from fraginv.growth.rules.camera import Scale
from fraginv.growth.rules.outlines import area_mm2
from fraginv.growth.rules.problems import NOTHING_FOUND, OUTLINE_AT_EDGE, OUTLINE_IS_PLUG, glare
from fraginv.growth.seeing.cutting import disc as mask_of_disc
from fraginv.growth.seeing.patches import patch_around
from fraginv.growth.seeing.suggesting import glare_within, is_plug, rim_of, suggest_outline
from tests.growth.lab_reading import outlined, shared, true_view
from tests.growth.scenes import draws
from tests.growth.scenes.camera import looking
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Frag, Glare, Scene, Sheet, Shot
from tests.growth.scenes.shapes import Shape, branching, disc, ellipse, lumpy
from tests.growth.scenes.textures import printed_card

AT = card.WINDOW.centre
OVAL = ellipse(24, 17)


def at_the_card(
    shape: Shape = OVAL,
    *,
    glares: tuple[Glare, ...] = (),
    plug_mm: float = 0.0,
    beside_mm: float = 0.0,
    seed: int = 4,
) -> Shot:
    """Return a coral in the card's window, photographed slant and a little bent.

    Args: ``beside_mm`` looks so far to the side of it.
    """
    camera = looking(
        at_mm=(AT[0] + beside_mm, AT[1]),
        distance_mm=260,
        tilt_deg=12,
        towards_deg=40,
        focal_px=1900,
        size=(640, 600),
        k1=0.02,
    )
    frag = Frag(shape, AT, height_mm=11, plug_mm=plug_mm, plug_height_mm=5)
    look = draws.plain_look()
    return photograph(Scene(camera, (Sheet(printed_card()),), (frag,), look, glares, seed))


def doubts_in(shot: Shot, *, plug_mm: float | None = None) -> list[str]:
    """Return the codes of what is doubtful of a suggestion."""
    view, frag = true_view(shot.camera), shot.frag
    found = suggest_outline(
        shot.rgb, view, tap_px=frag.tap_px, height_mm=frag.height_mm, plug_mm=plug_mm
    )
    return [doubt.code for doubt in found.doubts]


def test_a_plain_coral_is_outlined_to_a_hundredth() -> None:
    found = outlined(at_the_card())
    assert found.iou > 0.97
    assert abs(found.area_error) < 0.02
    assert abs(found.feret_error) < 0.01
    assert found.doubts == ()


@pytest.mark.parametrize(
    "shape",
    [
        lumpy(np.random.default_rng(7), diameter_mm=26),
        branching(np.random.default_rng(8), diameter_mm=28),
    ],
    ids=["lumpy", "branching"],
)
def test_an_irregular_coral_on_a_plug_is_outlined(shape: Shape) -> None:
    assert outlined(at_the_card(shape, plug_mm=25)).iou > 0.9


def test_the_bar_is_met_at_the_card() -> None:
    found = [outlined(photograph(draws.card_scene(seed))) for seed in range(300, 312)]
    assert np.median([one.iou for one in found]) >= 0.92
    assert np.mean([abs(one.area_error) <= 0.05 for one in found]) >= 0.5


def test_the_same_tap_gives_the_same_outline() -> None:
    shot = at_the_card()
    one, two = (
        suggest_outline(
            shot.rgb, true_view(shot.camera), tap_px=shot.frag.tap_px, height_mm=11
        ).outline_px
        for _ in range(2)
    )
    assert np.array_equal(one, two)


def test_without_a_tap_the_middle_of_the_window_counts() -> None:
    shot = at_the_card(beside_mm=15)
    view = true_view(shot.camera)
    found = suggest_outline(shot.rgb, view, tap_px=None, height_mm=11)
    outline = shot.camera.to_plane(found.outline_px, 11)
    assert shared(outline, shot.frag.outline_mm) > 0.95
    beside = replace(view, scale=Scale.LABEL)
    found = suggest_outline(shot.rgb, beside, tap_px=None, height_mm=11)
    assert (
        len(found.outline_px) == 0
        or shared(shot.camera.to_plane(found.outline_px, 11), shot.frag.outline_mm) < 0.9
    )


def test_a_lamp_on_the_coral_is_painted_over_and_said() -> None:
    small = at_the_card(glares=(Glare((AT[0] + 2, AT[1]), size_mm=0.4, light=2.0),))
    assert outlined(small).iou > 0.95
    large = at_the_card(glares=(Glare((AT[0] + 3, AT[1]), size_mm=2.5, light=3.0),))
    assert glare(0.1).code in doubts_in(large)
    assert glare(0.1).code not in doubts_in(small)


def test_a_lamp_inside_an_outline_that_a_person_drew_is_said() -> None:
    large = at_the_card(glares=(Glare((AT[0] + 3, AT[1]), size_mm=2.5, light=3.0),))
    view = true_view(large.camera)
    (said,) = glare_within(large.rgb, view, outline_px=large.frag.outline_px, height_mm=11)
    assert said.code == "glare"
    beside = large.camera.to_pixels(np.array([AT]) + [[-9, -4], [-3, -4], [-6, 4]], 11)
    assert glare_within(large.rgb, view, outline_px=beside, height_mm=11) == ()
    high = view.distance_mm + 5
    assert glare_within(large.rgb, view, outline_px=beside, height_mm=high) == ()


def test_a_coral_at_the_edge_is_doubtful() -> None:
    assert OUTLINE_AT_EDGE.code in doubts_in(at_the_card(beside_mm=48))
    assert OUTLINE_AT_EDGE.code not in doubts_in(at_the_card(beside_mm=20))


def test_a_round_outline_may_be_the_plugs_rim() -> None:
    round_one = at_the_card(disc(25))
    assert OUTLINE_IS_PLUG.code in doubts_in(round_one)
    assert OUTLINE_IS_PLUG.code in doubts_in(round_one, plug_mm=25.5)
    assert OUTLINE_IS_PLUG.code not in doubts_in(round_one, plug_mm=30)
    assert not is_plug(OVAL.outline, plug_mm=None)
    assert not is_plug(disc(11).outline, plug_mm=None)


def test_nothing_is_found_where_nothing_can_be_seen() -> None:
    shot = at_the_card()
    view = true_view(shot.camera)
    for tap, height in (((-4000.0, -4000.0), 11.0), (shot.frag.tap_px, 300.0)):
        found = suggest_outline(shot.rgb, view, tap_px=tap, height_mm=height)
        assert len(found.outline_px) == 0
        assert found.doubts == (NOTHING_FOUND,)


def test_a_patch_knows_where_it_is() -> None:
    shot = at_the_card()
    view = true_view(shot.camera)
    patch = patch_around(shot.rgb, view, middle_mm=np.array(AT), height_mm=11)
    assert patch is not None
    middle = (np.array(patch.pixels.shape[:2]) - 1) / 2
    assert patch.to_photo([middle]) == pytest.approx(view.to_pixels([AT], 11), abs=1e-6)


def test_a_rim_has_the_area_of_its_mask() -> None:
    """Contours through the middles of pixels would lose 1.2 % of a disc of 10 mm."""
    mask = mask_of_disc(10)
    assert area_mm2(rim_of(mask)) == pytest.approx(mask.sum(), rel=0.002)
