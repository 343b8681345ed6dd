"""Labels in photographs: read where they are small, fouled or many, and never read wrong."""

import cv2
import numpy as np
import pytest

from fraginv.base.rules.codes import address
from fraginv.base.symbols import make_symbol
from fraginv.growth.seeing.reading import labels_in, own_code, read_labels
from fraginv.growth.seeing.regions import MOST_REGIONS, symbol_like
from tests.growth.lab_reading import is_clean, read_all
from tests.growth.scenes import draws
from tests.growth.scenes.camera import Grey, looking
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Scene, Shot
from tests.growth.scenes.textures import LARGE

CODE = draws.codes()[0]


def drawn(*texts: str, module_px: int = 4) -> Grey:
    """Return a picture with symbols of these texts side by side."""
    parts = []
    for text in texts:
        rows = np.pad(np.array(make_symbol(text).rows), 6)
        parts.append(np.kron(np.where(rows, 20, 235), np.ones((module_px, module_px))))
    height = max(len(part) for part in parts)
    even = [np.pad(part, ((0, height - len(part)), (0, 0)), constant_values=235) for part in parts]
    return np.hstack(even).astype(np.uint8)


def seen_from(distance_mm: float, *, algae: float = 0.0, seed: int = 1) -> Shot:
    """Return a label photographed from a distance, straight from above."""
    sheet = draws.a_label(np.random.default_rng(seed), at_mm=(0, 0), run=LARGE, algae=algae)
    camera = looking(distance_mm=distance_mm, size=(600, 440), focal_px=1200)
    return photograph(Scene(camera, (sheet,), look=draws.plain_look(), seed=seed))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (CODE, CODE),
        (address("reef.test", CODE), CODE),
        (address("REEF.TEST:8000", CODE).lower(), CODE),
        (f"http://another.example/t/{CODE}/", CODE),
        (f"https://reef.test/F/{CODE}", None),
        (f"https://reef.test/T/x/{CODE}", None),
        (f"https://reef.test/T/{CODE}?x=1", None),
        (f"https://reef.test/T/{CODE[:-1]}", None),
        (f"https://reef.test/T/{CODE[::-1]}", None),
        (f"ftp://reef.test/T/{CODE}", None),
        (f"{CODE} {CODE}", None),
        ("1234567", None),
        ("OIL0111", None),
        ("https://www.example.org/", None),
        ("", None),
    ],
)
def test_only_codes_of_ours_are_taken(text: str, code: str | None) -> None:
    assert own_code(text) == code


def test_codes_of_other_systems_are_passed_over() -> None:
    other = draws.codes()[1]
    grey = drawn("HTTPS://SHOP.EXAMPLE/P/4711", address("REEF.TEST", CODE), "WIFI:S:x;;", other)
    assert [label.code for label in read_labels(grey)] == [CODE, other]
    assert [label.text for label in read_labels(grey)] == [address("REEF.TEST", CODE), other]


def test_a_label_says_where_it_is_and_what_it_is_like() -> None:
    grey = drawn(address("REEF.TEST", CODE), module_px=5)
    (label,) = read_labels(grey)
    assert (label.version, label.level, label.times) == (2, "Q", 1)
    first, last = 6 * 5 - 0.5, (6 + 25) * 5 - 0.5
    square = [[first, first], [last, first], [last, last], [first, last]]
    assert label.corners == pytest.approx(np.array(square), abs=1)


def test_the_same_code_twice_is_one_label() -> None:
    twice = drawn(CODE, CODE)
    (label,) = read_labels(twice)
    assert label.times == 2


@pytest.mark.parametrize("shape", [(1, 1), (8, 300), (300, 8), (40, 40), (900, 1200)])
@pytest.mark.parametrize("kind", ["white", "noise"])
def test_where_nothing_is_nothing_is_read(shape: tuple[int, int], kind: str) -> None:
    chance = np.random.default_rng(2)
    grey = chance.integers(0, 256, shape, np.uint8) if kind == "noise" else np.full(shape, 255)
    assert read_labels(grey.astype(np.uint8)) == []


def test_a_busy_picture_is_not_searched_for_ever() -> None:
    chance = np.random.default_rng(3)
    small = chance.integers(0, 256, (500, 700), np.uint8)
    large = cv2.resize(small, None, fx=4, fy=4, interpolation=cv2.INTER_CUBIC)
    busy = np.asarray(large, np.uint8)
    busy[:, ::300] = busy[::300] = 128
    for edge in range(20):
        busy[:, edge::300] = 128
        busy[edge::300] = 128
    assert len(symbol_like(busy, read=[])) <= MOST_REGIONS
    assert read_labels(busy) == []


def test_small_symbols_are_enlarged() -> None:
    # 1200 px / 560 mm x 0.677 mm = 1.45 pixels for each module.
    shot = seen_from(560)
    assert shot.label.module_px == pytest.approx(1.45, abs=0.05)
    assert labels_in(shot.grey) == []
    (label,) = read_labels(shot.grey)
    assert label.code == shot.label.code
    assert label.corners == pytest.approx(shot.label.corners_px, abs=1.5)


def test_fouled_symbols_are_read_and_lie_where_they_do() -> None:
    later = 0
    for seed in range(20):
        shot = seen_from(170, algae=0.1, seed=seed)
        found = {label.code: label for label in read_labels(shot.grey)}
        at_once = labels_in(shot.grey)
        later += not at_once and bool(found)
        if found:
            assert found[shot.label.code].corners == pytest.approx(shot.label.corners_px, abs=3)
    assert later >= 4


def test_labels_at_the_card_are_read() -> None:
    read = read_all(draws.card_scene, range(500, 515))
    assert read.wrong == 0
    assert read.share(is_clean) >= 0.98
    assert read.share() >= 0.96


def test_labels_alone_are_read() -> None:
    read = read_all(draws.label_scene, range(500, 545))
    assert read.wrong == 0
    assert read.share(is_clean) >= 0.98
    assert read.share() >= 0.96


def test_a_rack_is_read_whole() -> None:
    read = read_all(draws.rack_scene, [500])
    assert read.wrong == 0
    assert read.share() >= 0.97
    assert len(read.some(lambda tried: True)) > 30
