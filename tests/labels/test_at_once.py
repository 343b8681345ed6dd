"""Several people at once on the same labels: each thing happens once."""

import pytest

from fraginv.base.actions.codes import bind_codes
from fraginv.base.errors import Conflict, NotFound
from fraginv.base.models import Code, Person
from fraginv.labels.actions.lost import mark_label_lost
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.rolls import retire_roll
from fraginv.labels.models import LostLabel, RetiredRoll
from fraginv.labels.queries.runs import run_codes
from tests.factories import make_frags
from tests.together import together


@pytest.fixture
def by(transactional_db: None, grower: Person) -> Person:
    """Who does it all, in rows that everybody sees."""
    return grower


def test_a_label_that_all_miss_at_once_is_noted_once(by: Person) -> None:
    codes = [frag.code_id for frag in make_frags(by, 2)]
    came = together(lambda code: mark_label_lost([code], by=by), on=codes * 3)
    assert all(isinstance(one, list) for one in came), came
    assert sorted(LostLabel.objects.values_list("code_id", flat=True)) == sorted(codes)


def test_a_roll_is_thrown_away_once(by: Person) -> None:
    (code,) = run_codes(start_run((), blank=1, by=by))
    came = together(lambda number: retire_roll(number, by=by), on=[code.run or 0] * 4)
    assert sum(isinstance(one, RetiredRoll) for one in came) == 1, came
    assert all(isinstance(one, RetiredRoll | NotFound | Conflict) for one in came), came
    assert RetiredRoll.objects.count() == 1


def test_a_roll_is_cut_with_or_thrown_away_never_both(by: Person) -> None:
    first, *_ = run_codes(start_run((), blank=4, by=by))

    def either(act: str) -> object:
        if act == "cut":
            return bind_codes(first.pk, count=4, kind=Code.Kind.FRAG)
        return retire_roll(first.run or 0, by=by)

    together(either, on=["cut", "throw"])
    frags = Code.objects.filter(kind=Code.Kind.FRAG).count()
    thrown = sum(RetiredRoll.objects.values_list("thrown_away", flat=True))
    assert (frags, thrown) in {(4, 0), (0, 4)}
