"""What lists of frags are narrowed to, in words and days."""

from datetime import date

import pytest

from fraginv.front.rules.frag_filters import (
    FLAGS,
    STAGES,
    Days,
    FragFilter,
    age_words,
    days_of_age,
    flag_words,
    size_words,
    trouble_words,
)
from fraginv.stock.rules.stages import SIZES, TROUBLES, Stage

TODAY = date(2026, 11, 27)


@pytest.mark.parametrize(
    ("first", "last", "days", "words"),
    [
        (None, None, Days(), ""),
        (0, None, Days(last=TODAY), "cut at least 0 days ago"),
        (30, 30, Days(date(2026, 10, 28), date(2026, 10, 28)), "cut 30 days ago"),
        (1, 1, Days(date(2026, 11, 26), date(2026, 11, 26)), "cut 1 day ago"),
        (14, 60, Days(date(2026, 9, 28), date(2026, 11, 13)), "cut 14 to 60 days ago"),
        (None, 1, Days(first=date(2026, 11, 26)), "cut at most 1 day ago"),
        (366, None, Days(last=date(2025, 11, 26)), "cut at least 366 days ago"),
    ],
)
def test_ages(first: int | None, last: int | None, days: Days, words: str) -> None:
    asked = FragFilter(age_from=first, age_to=last)
    assert days_of_age(asked, today=TODAY) == days
    assert age_words(asked) == words
    assert asked.has_age is bool(words)


@pytest.mark.parametrize(
    ("asked", "plain", "ended"),
    [
        (FragFilter(), True, False),
        (FragFilter(stage="sale"), True, False),
        (FragFilter(stage="sold"), True, True),
        (FragFilter(stage="kept", size="M"), False, True),
        (FragFilter(age_from=0), False, False),
        (FragFilter(age_to=0), False, False),
        (FragFilter(held="no"), False, False),
        (FragFilter(text="lan"), False, False),
    ],
)
def test_what_is_asked(asked: FragFilter, plain: bool, ended: bool) -> None:
    assert (asked.is_plain, asked.has_ended) == (plain, ended)


def test_words() -> None:
    assert flag_words("held", "yes") == "put aside for somebody"
    assert flag_words("kept", "no") == "not kept back"
    assert [trouble_words(word) for word in ("any", "no", "pest")] == [
        *("something wrong", "nothing wrong", "Pest")
    ]
    assert size_words("mini") == "size Mini-colony"
    assert all(size_words(size) for size in SIZES)
    assert all(trouble_words(trouble) for trouble in TROUBLES)
    assert {"any", "no"}.isdisjoint(TROUBLES)
    assert set(FLAGS) <= set(FragFilter.__dataclass_fields__)


def test_every_stage_can_be_asked_for() -> None:
    assert set(STAGES) == {"", "sale", *(stage.value for stage in Stage)}
