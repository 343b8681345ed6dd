"""Each message says what, why and what to do, in plain words."""

import re

import pytest

from fraginv.growth.rules import problems
from fraginv.growth.rules.problems import Problem

MADE = [
    problems.tilted(34.4),
    problems.too_small(1.92),
    problems.card_too_small(1.5),
    problems.blurred(3.1),
    problems.scales_differ(0.021),
    problems.scales_differ(-0.04),
    problems.does_not_fit(2.34, what="label"),
    problems.glare(0.08),
]
FIXED = [value for value in vars(problems).values() if isinstance(value, Problem)]


def test_no_two_have_the_same_code() -> None:
    codes = [problem.code for problem in FIXED]
    assert len(FIXED) > 10
    assert len({*codes, *(problem.code for problem in MADE)}) == len(codes) + len(MADE) - 1


@pytest.mark.parametrize("problem", [*FIXED, *MADE], ids=lambda problem: problem.code)
def test_each_is_whole_sentences_with_what_to_do(problem: Problem) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", problem.code)
    assert re.fullmatch(r"[A-Z0-9].*[.]", problem.text)
    assert problem.text.count(". ") >= 1
    assert "  " not in problem.text
    assert not re.search(r"homograph|aruco|residual|sigma|exif", problem.text, re.IGNORECASE)
    assert problem.as_dict() == {"code": problem.code, "text": problem.text}


def test_numbers_are_said() -> None:
    texts = [problem.text for problem in MADE]
    assert "tilted by 34°. Beyond 30°" in texts[0]
    assert "1.9 pixels for each of its cells, 2.5 are needed" in texts[1]
    assert "spread over 12 pixels" in texts[3]
    assert "By the label a length is 2.1 % more than by the card" in texts[4]
    assert "4.0 % less" in texts[5]
    assert "The label does not fit" in texts[6]
