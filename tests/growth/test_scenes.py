"""The photographs that other tests are held against: is what they say of themselves true?"""

import cv2
import numpy as np
import pytest

from fraginv.base.pictures import inspect_picture
from fraginv.base.rules import card
from fraginv.base.symbols import read_symbols
from tests.growth.scenes import draws
from tests.growth.scenes.camera import Array, Camera, Image, looking
from tests.growth.scenes.paint import Window, coverage
from tests.growth.scenes.render import lay_sheet, photograph
from tests.growth.scenes.scene import Bend, Scene, Sheet
from tests.growth.scenes.shapes import branching, centroid, disc, ellipse, lumpy, square
from tests.growth.scenes.textures import (
    INK,
    LARGE,
    PAPER,
    RUNS,
    Print,
    Run,
    printed_card,
    printed_label,
)

CAMERA = looking(
    at_mm=(20, 30),
    distance_mm=250,
    tilt_deg=22,
    towards_deg=70,
    roll_deg=15,
    focal_px=1500,
    size=(900, 700),
    k1=0.02,
)


def polygon_area(points: Array) -> float:
    """Return the area of a polygon. Source: the shoelace formula."""
    x, y = points.T
    return float(abs((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2)


def moments(share: Image) -> tuple[float, Array]:
    """Return how much a picture holds, and where its middle is."""
    rows, columns = np.indices(share.shape)
    total = float(share.sum(dtype=float))
    return total, np.array([(share * columns).sum(), (share * rows).sum()]) / total


def test_the_camera_sees_as_the_reference_library_says() -> None:
    """Against OpenCV's own model of a camera, which has the third axis away from it."""
    points = np.random.default_rng(1).uniform(0, 60, (40, 2))
    for height in (0.0, 12.5):
        solid = np.column_stack([points, np.full(40, -height)])
        inner = np.array(
            [
                [CAMERA.focal_px, 0, CAMERA.centre[0]],
                [0, CAMERA.focal_px, CAMERA.centre[1]],
                [0, 0, 1],
            ]
        )
        turn, _ = cv2.Rodrigues(CAMERA.rotation)
        lens = np.array([CAMERA.k1, 0.0, 0, 0])
        expected, _ = cv2.projectPoints(solid, turn, CAMERA.translation, inner, lens)
        seen = CAMERA.to_pixels(points, height)
        assert seen == pytest.approx(expected.reshape(-1, 2), abs=1e-6)
        assert CAMERA.to_plane(seen, height) == pytest.approx(points, abs=1e-6)
    assert CAMERA.tilt_deg == pytest.approx(22)
    assert looking(distance_mm=250, focal_px=1500).px_per_mm() == pytest.approx(6, rel=1e-4)
    assert looking(distance_mm=250).distance_mm == pytest.approx(250)


def test_what_stands_higher_is_seen_larger() -> None:
    """By the theorem of rays: (D / (D - h))² of the area."""
    camera = looking(distance_mm=200)
    ring = disc(25).outline
    low, high = (polygon_area(camera.to_pixels(ring, height)) for height in (0, 20))
    assert high / low == pytest.approx((200 / 180) ** 2)


def test_shapes_have_the_size_that_they_say() -> None:
    # A disc of 25 mm has 490.87 mm², less what 720 chords cut off.
    assert disc(25).area_mm2 == pytest.approx(490.87, rel=5e-5)
    assert ellipse(30, 18).area_mm2 == pytest.approx(np.pi * 15 * 9, rel=5e-5)
    assert square(25).area_mm2 == pytest.approx(625)
    assert square(25).diameter_mm == pytest.approx(25 * 2**0.5)
    chance = np.random.default_rng(5)
    for shape in (lumpy(chance, diameter_mm=22), branching(chance, diameter_mm=22)):
        assert shape.diameter_mm == pytest.approx(22)
        assert centroid(shape.outline) == pytest.approx([0, 0], abs=1e-9)
        assert shape.area_mm2 < np.pi * 11**2


@pytest.mark.parametrize("diameter", [7.0, 80.0])
def test_coverage_keeps_area_and_middle(diameter: float) -> None:
    outline = disc(diameter).at(50.3, 47.9)
    area, middle = moments(coverage(outline, Window(0, 0, 100, 100)))
    assert area == pytest.approx(polygon_area(outline), rel=2e-4)
    # Pixels know nothing of where within them an edge runs; over a small disc that is left.
    assert middle == pytest.approx([50.3, 47.9], abs=0.03 / diameter)
    part = coverage(outline, Window(30, 40, 20, 30))
    assert part == pytest.approx(coverage(outline, Window(0, 0, 100, 100))[40:70, 30:50], abs=1e-6)


def ink(camera: Camera, sheet: Sheet) -> Image:
    """Return which share of each pixel a sheet's ink covers, without lens or sensor."""
    light = np.full((camera.height, camera.width, 3), PAPER, np.float32)
    lay_sheet(light, sheet, scene=Scene(camera), chance=np.random.default_rng(1))
    return np.asarray((PAPER - light[:, :, 0]) / (PAPER - INK))


@pytest.mark.parametrize("bend", [Bend(), Bend(0.3, (0.01, -0.02), 0.6)], ids=["flat", "bent"])
def test_print_is_seen_where_the_camera_says(bend: Bend) -> None:
    pixels = np.full((1600, 1600), 255, np.uint8)
    pixels[600:1080, 400:880] = 0  # a square of 12 mm, its corner at 10, 15 mm
    sheet = Sheet(Print(pixels, 40.0), at_mm=(3, 4), turn_deg=20, bend=bend)
    corner = square(12).at(16, 21)
    outline = CAMERA.to_pixels(sheet.in_scene(corner), sheet.rise(corner))
    area, middle = moments(ink(CAMERA, sheet))
    expected, expected_middle = moments(coverage(outline, Window(0, 0, 900, 700)))
    assert area == pytest.approx(expected, rel=1e-3)
    assert middle == pytest.approx(expected_middle, abs=0.01)


def test_labels_are_where_the_reader_finds_them() -> None:
    label = printed_label(draws.codes()[0])
    sheet = Sheet(label.print, at_mm=(-10, 5), turn_deg=8, label=label)
    shot = photograph(Scene(CAMERA, (sheet,), look=draws.plain_look()))
    height, width = shot.grey.shape
    (found,) = read_symbols(shot.grey.tobytes(), width=width, height=height)
    assert found.text == shot.label.text == f"HTTPS://{LARGE.host}/T/{label.code}"
    assert found.version == shot.label.version
    # The reader's corners are whole pixels; the lab found them off by about half a one.
    assert np.array(found.corners) == pytest.approx(shot.label.corners_px, abs=2.0)
    assert not shot.label.is_hidden


def test_the_same_seed_gives_the_same_photo() -> None:
    one, two, other = (photograph(draws.label_scene(seed)) for seed in (5, 5, 6))
    assert np.array_equal(one.rgb, two.rgb)
    assert one.rgb.shape != other.rgb.shape or not np.array_equal(one.rgb, other.rgb)


def test_the_file_says_what_a_phone_says() -> None:
    shot = photograph(draws.label_scene(7))
    facts = inspect_picture(shot.jpeg(focal_35_mm=26, side=6))
    assert facts.focal_35_mm == 26
    assert facts.orientation == 6
    assert (facts.width, facts.height) == (shot.camera.width, shot.camera.height)
    assert inspect_picture(shot.jpeg(exif=False)).focal_35_mm is None
    assert inspect_picture(shot.jpeg()).focal_35_mm is not None


def test_a_rack_is_a_whole_photo_that_knows_what_is_hidden() -> None:
    shot = photograph(draws.rack_scene(2, columns=8, rows=5))
    assert shot.rgb.shape == (3024, 4032, 3)
    assert len(shot.labels) == len(shot.frags) == 40
    assert len({label.code for label in shot.labels}) == 40
    seen = [label for label in shot.labels if not label.is_hidden]
    assert len(seen) > 30
    assert min(label.module_px for label in seen) > 4


def test_the_card_is_rasterised_true_to_size() -> None:
    """Each cell of each marker holds nothing but its own colour."""
    printed = printed_card()
    assert printed.size_mm == (card.CARD_WIDTH_MM, card.CARD_HEIGHT_MM)
    side = round(card.CELL_MM * printed.px_per_mm)
    for marker in card.MARKERS:
        left, top = (round(edge * printed.px_per_mm) for edge in marker.place.corners[0])
        dark = np.kron(np.array(marker.cells), np.ones((side, side), bool))
        part = printed.pixels[top : top + len(dark), left : left + len(dark)]
        assert np.array_equal(part < 128, dark)


@pytest.mark.parametrize("run", RUNS[1:], ids=lambda run: f"{run.width_mm} of {run.host}")
def test_labels_are_rasterised_true_to_size(run: Run) -> None:
    printed = printed_label(draws.codes()[0], run).print
    assert printed.size_mm == (run.width_mm, run.height_mm)
