"""Labels and parts found in a photograph of a rack, held against what is true of it."""

import numpy as np
import pytest

from fraginv.base.pictures import prepare_picture
from fraginv.base.pixels import upright_grey
from fraginv.growth.rules.intake import Read, Seen
from fraginv.growth.rules.parts import part_of
from fraginv.growth.seeing.labels import grey_of, labels_of_picture
from fraginv.growth.seeing.reading import read_labels
from tests.growth.labelled import labelled
from tests.growth.scenes import draws
from tests.growth.scenes.camera import Array
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Scene, Shot

ONE, TWO, *_ = draws.codes()


@pytest.fixture(scope="module")
def scene() -> Scene:
    """A rack of ten frags, unfouled, seen by 12 megapixels."""
    return draws.rack_scene(903, columns=5, rows=2, algae=0.0)


@pytest.fixture(scope="module")
def shot(scene: Scene) -> Shot:
    return photograph(scene)


@pytest.fixture(scope="module")
def read(shot: Shot) -> Read:
    data = shot.jpeg()
    return labels_of_picture(data, prepare_picture(data))


def test_every_label_of_a_rack_is_read_where_it_is(shot: Shot, read: Read) -> None:
    true = {label.code: label.corners_px for label in shot.labels}
    assert {label.code for label in read.labels} == set(true)
    assert (read.foreign, read.unread) == (0, 0)
    for label in read.labels:
        assert np.abs(np.array(label.corners) - true[label.code]).max() < 3


def within(points: Array, box: tuple[int, int, int, int]) -> float:
    """Return the share of points that lie in a box."""
    left, top, right, bottom = box
    x, y = points.T
    return float(((x >= left) & (x <= right) & (y >= top) & (y <= bottom)).mean())


def test_each_frag_stands_in_the_part_of_its_label(scene: Scene, read: Read) -> None:
    camera = scene.camera
    by_code = {label.code: label for label in read.labels}
    shares = []
    for sheet, frag in zip(scene.sheets, scene.frags, strict=True):
        assert sheet.label is not None
        label = by_code[sheet.label.code]
        box = part_of(label, labels=read.labels, width=camera.width, height=camera.height)
        shares.append(within(camera.to_pixels(frag.outline_mm, frag.height_mm), box))
    assert min(shares) > 0.95


def test_one_clear_label_is_read_in_the_pixels_that_were_unpacked_anyway(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    data = labelled(ONE, size=(3400, 2400), places={ONE: (300, 400)}, module_px=12)
    prepared = prepare_picture(data)
    assert prepared.facts.width == 2 * prepared.grey.width
    (full,) = read_labels(grey_of(upright_grey(data)))
    monkeypatch.setattr("fraginv.growth.seeing.labels.upright_grey", None)
    (found,) = labels_of_picture(data, prepared).labels
    assert found.code == ONE
    assert np.abs(np.array(found.corners) - full.corners).max() < 2


def test_a_second_label_sends_it_to_the_full_size() -> None:
    places = {ONE: (300, 400), TWO: (1500, 400)}
    data = labelled(ONE, TWO, size=(3400, 2400), places=places, module_px=12)
    found = labels_of_picture(data, prepare_picture(data))
    assert {label.code for label in found.labels} == {ONE, TWO}


def test_what_looks_like_a_second_label_and_cannot_be_read_is_counted() -> None:
    data = labelled(ONE, TWO, size=(1200, 700), spoilt={TWO})
    found = labels_of_picture(data, prepare_picture(data))
    assert [label.code for label in found.labels] == [ONE]
    assert found.unread


def test_seen_has_a_middle_and_a_side() -> None:
    one = Seen(ONE, ((0, 0), (10, 0), (10, 10), (0, 10)))
    assert (one.centre, one.side) == ((5, 5), 10)
