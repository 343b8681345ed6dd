"""Taps beside the coral: on a label, on the card, on the bare table."""

from dataclasses import replace
from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import pytest

from fraginv.base.rules import card
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Scale, row_of
from fraginv.growth.seeing import cutting
from fraginv.growth.seeing.prints import covers_label
from fraginv.growth.seeing.suggesting import Suggested, suggest_outline
from tests.growth.lab_reading import shared, true_view
from tests.growth.scenes.camera import looking
from tests.growth.scenes.draws import codes, plain_look
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Frag, Scene, Sheet, Shot
from tests.growth.scenes.shapes import disc, ellipse
from tests.growth.scenes.textures import LARGE, printed_card, printed_label

LABEL_AT = card.LABEL_PLACE.left_mm, card.LABEL_PLACE.top_mm + 2
WIDE = LARGE.width_mm
BESIDE = LABEL_AT[0] + WIDE + 16.0, LABEL_AT[1] + 10.0
HIGH = 9.0


@lru_cache(maxsize=3)
def shot_of(*, has_card: bool, has_frag: bool = True) -> Shot:
    """Photograph a coral in the card's window or, without a card, at the end of its label."""
    printed = printed_label(codes()[3], LARGE)
    at = card.WINDOW.centre if has_card else BESIDE
    middle = (62.0, 80.0) if has_card else (LABEL_AT[0] + WIDE / 2 + 8, LABEL_AT[1])
    camera = looking(
        at_mm=middle,
        distance_mm=240 if has_card else 170,
        tilt_deg=6,
        towards_deg=40,
        focal_px=1500,
        size=(1300, 1200),
    )
    label = Sheet(printed.print, LABEL_AT, label=printed)
    sheets = (Sheet(printed_card()),) * has_card + (label,)
    frag = Frag(ellipse(13, 10), at, height_mm=HIGH, plug_mm=20, plug_height_mm=6)
    return photograph(Scene(camera, sheets, (frag,) * has_frag, plain_look(), seed=3))


def tapped(at_mm: tuple[float, float], *, has_card: bool = False, high: float = 0.0) -> Suggested:
    """Tap a place of the table, card or label, or one above it."""
    shot = shot_of(has_card=has_card)
    view = true_view(shot.camera, scale=Scale.CARD if has_card else Scale.LABEL)
    x, y = view.to_pixels([at_mm], high)[0].tolist()
    corners = [shot.label.corners_px]
    return suggest_outline(shot.rgb, view, tap_px=(x, y), height_mm=HIGH, labels_px=corners)


@pytest.mark.parametrize("has_card", [False, True])
@pytest.mark.parametrize("along", [0.1, 0.25, 0.5, 0.6, 0.75, 0.93])
def test_a_tap_on_a_label_says_so(along: float, *, has_card: bool) -> None:
    """From the frame past the symbol, through the words, to the bare paper at the end."""
    place = LABEL_AT[0] + along * WIDE, LABEL_AT[1] + LARGE.height_mm / 2
    assert tapped(place, has_card=has_card).doubts == (problems.THAT_IS_LABEL,)


@pytest.mark.parametrize(
    "place",
    [card.MARKERS[0].place.centre, card.MARKERS[4].place.centre, (31.0, 140.0), (62.0, 151.0)],
    ids=["marker", "beside", "words", "bar"],
)
def test_a_tap_on_the_card_says_so(place: tuple[float, float]) -> None:
    assert tapped(place, has_card=True).doubts == (problems.THAT_IS_CARD,)


@pytest.mark.parametrize("away", [(0.0, -45.0), (20.0, -40.0), (-45.0, 10.0), (10.0, 45.0)])
def test_a_tap_on_the_bare_table_finds_nothing_and_soon(
    away: tuple[float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    rounds = counted_rounds(monkeypatch)
    found = tapped((LABEL_AT[0] + WIDE / 2 + away[0], LABEL_AT[1] + 10 + away[1]))
    assert found.doubts == (problems.NOTHING_FOUND,)
    assert len(found.outline_px) == 0
    assert len(rounds) <= cutting.FIRST_ROUNDS + cutting.GROWN_ROUNDS


def test_an_even_table_costs_no_cutting_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cutting a coral out of nothing but noise took up to nine seconds."""
    rounds = counted_rounds(monkeypatch)
    noise = np.random.default_rng(4).normal(0, 3, (400, 400, 3))
    table = np.clip((70, 93, 140) + noise, 0, 255).astype(np.uint8)
    view = true_view(shot_of(has_card=False).camera, scale=Scale.LABEL)
    tap = (view.centre[0], view.centre[1])
    wide = np.pad(table, ((400, 400), (450, 450), (0, 0)), mode="reflect")
    found = suggest_outline(wide, view, tap_px=tap, height_mm=HIGH)
    assert found.doubts == (problems.NOTHING_FOUND,)
    assert rounds == []


def counted_rounds(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Count the rounds of cutting: each takes a tenth of a second, or several."""
    done: list[int] = []
    cut = cv2.grabCut

    def counting(*args: Any) -> Any:
        done.append(1)
        return cut(*args)

    monkeypatch.setattr(cv2, "grabCut", counting)
    return done


@pytest.mark.parametrize("has_card", [False, True])
@pytest.mark.parametrize("off", [0.0, -3.0, 3.0])
def test_a_tap_on_the_coral_outlines_it(off: float, *, has_card: bool) -> None:
    frag = shot_of(has_card=has_card).frag
    x, y = card.WINDOW.centre if has_card else BESIDE
    found = tapped((x + off, y), has_card=has_card, high=HIGH)
    outline = shot_of(has_card=has_card).camera.to_plane(found.outline_px, HIGH)
    assert shared(outline, frag.outline_mm) > 0.9


def test_a_plug_is_known_by_its_roundness_where_its_size_is_not() -> None:
    """A length set by hand was wrong by half, so that the plug seemed smaller than any is."""
    shot = shot_of(has_card=False)
    true = true_view(shot.camera, scale=Scale.HAND)
    wrong = replace(true, translation=row_of(0.45 * np.array(true.translation)))
    high = 0.45 * HIGH
    found = suggest_outline(shot.rgb, wrong, tap_px=shot.frag.tap_px, height_mm=high)
    outline = shot.camera.to_plane(found.outline_px, HIGH)
    is_coral = shared(outline, shot.frag.outline_mm) > 0.85
    assert is_coral or problems.OUTLINE_IS_PLUG in found.doubts


def test_an_outline_around_a_label_is_told_from_one_beside_it() -> None:
    square = [[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]]
    around, beside = disc(60).outline * 2, disc(60).outline
    assert covers_label(around + 50, [square])
    assert not covers_label(beside + (140, 50), [square])
    assert not covers_label(around + 50, [])
