"""What ``read`` gives no size for: frags that were not found, outlines nobody has looked at."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fraginv.growth.rules import problems
from fraginv.growth.rules.problems import Problem
from fraginv.growth.rules.told import NOT_FOUND
from fraginv.growth.seeing.suggesting import Suggested
from tests.growth.scenes.scene import Shot
from tests.growth.test_command_read import run, written
from tests.growth.test_seeing_prints import HIGH, shot_of

pytestmark = pytest.mark.django_db


def told_of(shot: Shot, folder: Path) -> dict[str, Any]:
    """Return what ``read`` tells of a photo with one label."""
    asked = ["--height", HIGH, "--symbol-mm", shot.label.symbol_mm]
    (told,) = run("read", written(shot, folder), *asked)
    return told


def test_a_frag_at_the_end_of_a_wide_label_is_found(tmp_path: Path) -> None:
    """The label ends where what was looked at ended, and its end was measured, or the table."""
    shot = shot_of(has_card=False)
    (frag,) = told_of(shot, tmp_path)["frags"]
    assert frag["area_mm2"] == pytest.approx(shot.frag.area_mm2, rel=0.1)


def test_a_label_without_a_frag_gives_no_size(tmp_path: Path) -> None:
    alone = shot_of(has_card=False, has_frag=False)
    told = told_of(alone, tmp_path)
    assert told["frags"] == []
    assert NOT_FOUND.text in told["problems"]


SQUARE = [[100, 100], [300, 100], [300, 300], [100, 300]]
CROSSED = [[100, 100], [300, 300], [300, 100], [100, 300]]


@pytest.mark.parametrize(
    ("outline", "doubts"),
    [
        (SQUARE, (problems.OUTLINE_AT_EDGE,)),
        (SQUARE, (problems.OUTLINE_IS_PLUG,)),
        ([[0, 100], [300, 100], [300, 300]], ()),
        (CROSSED, ()),
        (np.empty((0, 2)), (problems.THAT_IS_LABEL,)),
        (np.empty((0, 2)), (problems.NOTHING_FOUND,)),
    ],
    ids=["margin", "plug", "edge", "crossed", "label", "nothing"],
)
def test_a_doubtful_outline_that_nobody_has_seen_is_no_size(
    outline: Any, doubts: tuple[Problem, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def suggested(*args: Any, **kwargs: Any) -> Suggested:
        return Suggested(np.array(outline, np.float64), doubts)

    monkeypatch.setattr("fraginv.growth.queries.told.suggest_outline", suggested)
    told = told_of(shot_of(has_card=False), tmp_path)
    assert told["frags"] == []
    assert NOT_FOUND.text in told["problems"]
    assert not any("crosses itself" in said for said in told["problems"])
