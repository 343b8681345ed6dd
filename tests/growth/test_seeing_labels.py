"""Labels that are seen and cannot be read, told from words and corals, on photos never tuned on."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fraginv.base.pictures import prepare_picture
from fraginv.base.pixels import upright_grey
from fraginv.base.rules.card import WINDOW
from fraginv.base.rules.codes import address
from fraginv.front.drawings.carded import draw_on_card
from fraginv.growth.rules.camera import through
from fraginv.growth.rules.intake import Read
from fraginv.growth.seeing.labels import STRAIGHT, grey_of, labels_of_picture, straightness
from fraginv.growth.seeing.markers import card_matrix, find_markers
from tests.growth.labelled import symbol_picture
from tests.growth.scenes import draws
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Shot

ONE, TWO, *_ = draws.codes()
GAMMA = 2.2


def read(shot: Shot) -> Read:
    """Read a photo as it comes in."""
    data = shot.jpeg()
    return labels_of_picture(data, prepare_picture(data))


def pair(seed: int, *, light: float = 1.0) -> Shot:
    """Photograph two frags; so much of the light falls on the second one's fouled label."""
    shot = photograph(draws.pair_scene(seed, pair=(ONE, TWO), algae=0.45))
    corners = shot.labels[1].corners_px
    around = corners.mean(axis=0) + 3 * (corners - corners.mean(axis=0))
    shade = np.zeros(shot.rgb.shape[:2], np.float32)
    cv2.fillConvexPoly(shade, np.round(around).astype(np.int32), 1.0)
    lit = 1 - (1 - light ** (1 / GAMMA)) * cv2.GaussianBlur(shade, (0, 0), 8)
    return replace(shot, rgb=np.asarray((shot.rgb * lit[:, :, None]).round(), np.uint8))


@pytest.mark.parametrize("light", [1.0, 0.3], ids=["in the light", "in the shade"])
def test_a_second_label_that_cannot_be_read_is_seen(light: float) -> None:
    told = [read(pair(seed, light=light)) for seed in (20, 22, 25, 26, 27, 29)]
    alone = [one for one in told if {label.code for label in one.labels} == {ONE}]
    assert len(alone) >= 4
    assert sum(one.unread > 0 for one in alone) >= len(alone) - 1


@pytest.mark.parametrize("seed", [20_046, 30_002, 30_012, 30_037])
def test_neither_fouled_words_nor_polyps_are_a_second_label(seed: int) -> None:
    told = read(photograph(draws.label_scene(seed)))
    assert len(told.labels) == 1
    assert told.unread == 0


@pytest.mark.parametrize("group", ["SPS", "LPS", "soft", "zoanthid", "gorgonian", "anemone"])
def test_polyps_are_not_printed(group: str) -> None:
    drawn = draw_on_card(
        group,
        hue=200,
        seed=31,
        age=90,
        height_mm=18,
        address=address("REEF.TEST", ONE),
        symbol_mm=16.93,
    )
    grey = grey_of(upright_grey(drawn.jpeg))
    matrix = card_matrix(find_markers(grey))
    assert matrix is not None
    window = through(matrix, WINDOW.corners)
    middle, half = window.mean(axis=0), 0.3 * np.ptp(window, axis=0)
    (left, top), (right, bottom) = (middle - half).astype(int), (middle + half).astype(int)
    assert straightness(grey[top:bottom, left:right]) < STRAIGHT


@pytest.mark.parametrize("turn_deg", [0, 20, 45, 70])
@pytest.mark.parametrize("light", [1.0, 0.2])
def test_a_symbol_is_printed_whichever_way_it_lies(turn_deg: int, light: float) -> None:
    symbol = symbol_picture(address("REEF.TEST", ONE)).rotate(turn_deg, fillcolor=255)
    grey = np.asarray(symbol, np.float32) * light + 20
    noise = np.random.default_rng(3).normal(0, 3, grey.shape)
    seen = np.asarray(np.clip(grey + noise, 0, 255), np.uint8)
    assert straightness(seen) > STRAIGHT


def test_what_is_even_is_not_printed() -> None:
    assert straightness(np.full((60, 60), 90, np.uint8)) == 0
