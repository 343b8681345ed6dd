"""How true sizes come out of photographs, with the true outline and height given.

A small part of what ``python -m tests.growth.lab`` measures, of seeds that the fit was never
tuned with. Bias, CV and R² are those that real photographs reach elsewhere: R² > .999 and an
average CV < 1 % on known objects. Source: Remote Sens. 2024, 16(22), 4274, abstract.
"""

from collections.abc import Callable

import pytest

from tests.growth.lab import (
    Errors,
    Row,
    Size,
    by_card,
    by_label,
    errors_of,
    measured_rows,
)
from tests.growth.scenes.draws import card_scene, label_scene, standard_scene
from tests.growth.scenes.scene import Scene

# Neither the lab's own photographs nor those that the fit was made with.
FIXED = range(5000, 5016)
LABELS = range(5000, 5028)

pytestmark = pytest.mark.own_home


def found(draw: Callable[[int], Scene], *rows: Row) -> list[Errors]:
    """Measure the fixed photographs of one kind by each of several rows."""
    sizes: dict[str, list[Size]] = measured_rows(rows)
    assert {row.draw for row in rows} == {draw}
    return [errors_of(sizes[row.name]) for row in rows]


def test_the_card_measures_within_its_bars() -> None:
    (card, label) = found(
        card_scene,
        Row("card", card_scene, by_card, seeds=FIXED),
        Row("label", card_scene, by_label, seeds=FIXED),
    )
    assert card.n == len(FIXED)
    assert abs(card.bias) < 0.1
    assert card.cv < 0.25
    assert card.r2 > 0.99995
    assert card.worst < 0.5
    # An area is a length squared, so that half its bar is that of the diameter.
    assert card.diameter_cv < min(0.25 / 2, 0.6 * card.cv)
    # Labels under algae are read by more than this one call.
    assert label.n >= 0.7 * len(FIXED)
    assert abs(label.bias) < 0.6
    assert label.cv < 0.6
    assert label.r2 > 0.999


def test_a_label_alone_measures_within_its_bars() -> None:
    (label,) = found(label_scene, Row("label", label_scene, by_label, seeds=LABELS))
    assert label.n >= 0.7 * len(LABELS)
    assert abs(label.bias) < 0.6
    assert label.cv < 0.6
    assert label.r2 > 0.999
    assert label.diameter_cv < 0.6 / 2
    assert label.said < 1.5


def test_standards_measure_within_their_bars() -> None:
    (card,) = found(standard_scene, Row("card", standard_scene, by_card, seeds=FIXED))
    assert card.n == len(FIXED)
    assert abs(card.bias) < 0.1
    assert card.cv < 0.2
    assert card.r2 > 0.9999
    assert card.diameter_cv < 0.1


def test_the_statistics_are_those_of_their_names() -> None:
    """A worked example: areas of 101 and 198 where 100 and 200 are true."""
    example = errors_of(
        [
            Size(101, 100, 10.1, 10, sigma_area=1, seconds=0.01),
            Size(198, 200, 20.0, 20, sigma_area=1, seconds=0.03),
        ]
    )
    # Errors +1 % and -1 %; squares 1 + 4 over 50² + 50².
    assert example.bias == pytest.approx(0)
    assert example.cv == pytest.approx(2**0.5)
    assert example.worst == pytest.approx(1)
    assert example.r2 == pytest.approx(1 - 5 / 5000)
    assert example.diameter_bias == pytest.approx(0.5)
    assert example.said == pytest.approx((5 / 2) ** 0.5)
    assert example.ms == pytest.approx(20)
