"""The demo's pictures on the measuring card: what is drawn is what is measured."""

import numpy as np
import pytest

from fraginv.base.pictures import inspect_picture, prepare_picture
from fraginv.base.pixels import upright_grey
from fraginv.base.rules.codes import address
from fraginv.front.drawings.carded import DISTANCE_MM, FOCAL_35_MM, draw_on_card
from fraginv.growth.rules.camera import focal_of
from fraginv.growth.rules.measuring import Height, Measured, measure_outline
from fraginv.growth.seeing.labels import labels_of_picture
from fraginv.growth.seeing.measuring import scale_of
from fraginv.growth.seeing.reading import read_labels

CODE = "7K3Q9FN"


@pytest.mark.parametrize(("group", "age", "height"), [("SPS", 30, 18.0), ("soft", 90, 8.0)])
def test_a_drawn_frag_measures_as_large_as_it_was_drawn(
    group: str, age: int, height: float
) -> None:
    drawn = draw_on_card(
        group,
        hue=120,
        seed=5,
        age=age,
        height_mm=height,
        address=address("REEF.EXAMPLE", CODE),
        symbol_mm=16.9,
    )
    facts = inspect_picture(drawn.jpeg)
    pixels = upright_grey(drawn.jpeg)
    grey = np.frombuffer(pixels.data, np.uint8).reshape(pixels.height, pixels.width)
    (label,) = read_labels(grey)
    assert label.code == CODE
    assert facts.focal_35_mm == FOCAL_35_MM
    focal = focal_of(facts.width, facts.height, focal_35_mm=facts.focal_35_mm)
    sight = scale_of(grey, focal=focal, label=label, symbol_mm=16.9)
    assert sight.problems == ()
    assert sight.view is not None
    assert sight.view.distance_mm == pytest.approx(DISTANCE_MM, rel=0.01)
    found = measure_outline(sight.view, outline_px=drawn.outline_px, height=Height(height))
    assert isinstance(found, Measured)
    assert found.area_mm2 == pytest.approx(drawn.area_mm2, rel=0.01)


@pytest.mark.parametrize("group", ["SPS", "soft", "zoanthid"])
def test_neither_the_card_nor_polyps_are_taken_for_another_label(group: str) -> None:
    drawn = draw_on_card(
        group,
        hue=60,
        seed=3,
        age=60,
        height_mm=18,
        address=address("REEF.TEST", CODE),
        symbol_mm=16.93,
    )
    read = labels_of_picture(drawn.jpeg, prepare_picture(drawn.jpeg))
    assert [label.code for label in read.labels] == [CODE]
    assert read.unread == 0
