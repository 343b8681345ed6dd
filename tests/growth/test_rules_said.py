"""Forecasts and growth in words."""

from datetime import date, timedelta

import pytest

from fraginv.growth.rules.forecast import Basis, Forecast
from fraginv.growth.rules.growth import SHRANK, Known, Size, step_between
from fraginv.growth.rules.paces import supposed_pace
from fraginv.growth.rules.said import say_basis, say_pace, say_ready, say_step, with_error

DAY = date(2026, 5, 4)


def told(first: int, last: int, *, basis: Basis = Basis.USUAL, own: int = 0) -> Forecast:
    early, middle, late = (DAY + timedelta(days=day) for day in (first, (first + last) // 2, last))
    return Forecast(early, middle, late, basis, 0 if basis is Basis.USUAL else 4, own)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (0, 0, "ready any day now"),
        (1, 3, "ready any day now"),
        (0, 9, "ready within 9 days"),
        (5, 12, "ready in 5–12 days"),
        (3, 30, "ready within 4 weeks"),
        (5, 14, "ready in 1–2 weeks"),
        (20, 36, "ready in 3–5 weeks"),
        (26, 29, "ready in about 4 weeks"),
        (2, 182, "ready within 26 weeks"),
        (70, 260, "ready in 2–9 months"),
    ],
)
def test_when_it_will_be_ready(first: int, last: int, words: str) -> None:
    assert say_ready(told(first, last), today=DAY) == words


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (
            told(9, 30),
            "Rests on what is usual for zoanthids, because none of this variety became ready"
            " here yet.",
        ),
        (
            told(9, 30, own=1),
            "Rests on what is usual for zoanthids, and the weeks of 1 frag of this variety that"
            " became ready here.",
        ),
        (
            told(9, 30, basis=Basis.BOTH, own=24),
            "Rests on 4 measurements of its own and the weeks of 24 frags of this variety that"
            " became ready here.",
        ),
        (
            told(9, 30, basis=Basis.SIZE),
            "Rests on 4 measurements of its own; how old it is, is not known.",
        ),
    ],
    ids=["group", "few", "both", "size"],
)
def test_what_it_rests_on(found: Forecast, words: str) -> None:
    assert say_basis(found, group="zoanthid") == words


def test_a_pace_has_units_and_says_that_areas_are_projected() -> None:
    said = say_pace(supposed_pace("SPS"), group="SPS")
    assert said.weeks == "13 weeks, 8 of 10 between 8 and 22"
    assert said.weeks_from.startswith("what is usual for SPS, because none")
    assert said.rate == "0.90 % a day of projected area, doubled in 77 days, ± 0.41 % among frags"
    assert said.rate_from == "as usual for SPS, none is measured twice yet"
    assert said.survival == "90 of 100 live until then"


def test_a_step_has_its_errors() -> None:
    before = Size(DAY, Known(400, 12), Known(25, 0.4))
    after = Size(DAY + timedelta(days=45), Known(800, 24), Known(35, 0.5))
    said = say_step(step_between(before, after))
    assert said.rate == "1.54 ± 0.09"
    assert said.percent == "100 ± 8"
    assert said.area == "2.71 ± 0.18"
    assert said.extension == "0.222 ± 0.014"
    assert said.extension_year == "8.1 ± 0.5"
    back = say_step(step_between(after, Size(after.day + timedelta(days=9), Known(700, 9))))
    assert back.flags == (SHRANK,)
    assert back.percent == "−12 ± 3"
    assert back.extension == with_error(None, 2) == "–"
