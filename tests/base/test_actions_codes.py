"""Making codes, and binding labels that were printed ahead."""

from datetime import UTC, datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import chance, clock
from fraginv.base.actions.codes import bind_codes, issue_blank_run, issue_codes
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Code
from fraginv.base.rules.codes import CodeError, read_code, show_code
from tests.refusing import refused
from tests.together import together

FRAG = Code.Kind.FRAG


def kinds() -> list[str]:
    """Return the kind of each code of the first run, in the order of the roll."""
    return list(Code.objects.filter(run=1).order_by("position").values_list("kind", flat=True))


def test_codes_are_made_each_once_and_read_back(db: None) -> None:
    moment = datetime(2026, 11, 25, 17, tzinfo=UTC)
    with clock.at(moment):
        made = issue_codes(1_200, kind=FRAG)
    assert len({code.pk for code in made}) == Code.objects.count() == 1_200
    for code in Code.objects.all():
        assert read_code(show_code(code.pk)) == code.pk
        assert (code.kind, code.made_at, code.run, code.printed_at) == ("frag", moment, None, None)


@pytest.mark.parametrize("count", [0, -1, 5_001, 10_000])
def test_numbers_that_no_sheet_has_are_refused(db: None, count: int) -> None:
    with refused(f"{count} codes at once: ask for 1 to 5,000", error=InputError):
        issue_codes(count, kind=FRAG)
    assert not Code.objects.exists()


def test_a_code_that_is_drawn_again_is_thrown_away(db: None) -> None:
    with chance.seeded(11):
        first = issue_codes(40, kind=FRAG)
    with chance.seeded(11):
        second = issue_codes(40, kind=FRAG)
    assert not {code.pk for code in first} & {code.pk for code in second}
    assert Code.objects.count() == 80


def test_making_codes_asks_little(
    db: None, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(5):
        issue_codes(500, kind=FRAG)


def test_blank_runs_stand_in_order_each_on_its_own_roll(db: None) -> None:
    first, second = issue_blank_run(3), issue_blank_run(2)
    assert [(code.run, code.position) for code in first] == [(1, 0), (1, 1), (1, 2)]
    assert [(code.run, code.position) for code in second] == [(2, 0), (2, 1)]
    assert kinds() == ["blank"] * 3
    stored = Code.objects.filter(run=1).order_by("position")
    assert [code.pk for code in stored] == [code.pk for code in first]


def test_rolls_made_at_the_same_time_are_apart(transactional_db: None) -> None:
    made = together(issue_blank_run, on=[5] * 6)
    assert all(isinstance(run, list) for run in made), made
    places = set(Code.objects.values_list("run", "position"))
    assert places == {(run, place) for run in range(1, 7) for place in range(5)}


def test_the_first_label_scanned_binds_those_that_follow(db: None) -> None:
    run = issue_blank_run(10)
    bound = bind_codes(f"HTTPS://REEF.TEST/T/{run[3].pk}", count=4, kind=FRAG)
    assert [code.pk for code in bound] == [code.pk for code in run[3:7]]
    assert kinds() == ["blank"] * 3 + ["frag"] * 4 + ["blank"] * 3


def test_a_run_is_used_up_to_its_last_label(db: None) -> None:
    run = issue_blank_run(4)
    bind_codes(run[0].pk, count=4, kind=FRAG)
    assert kinds() == ["frag"] * 4


def test_a_run_that_is_too_short_says_how_many_are_left(db: None) -> None:
    run = issue_blank_run(10)
    issue_blank_run(10)
    with refused("Only 3 blank labels are left on this run, and 4 are needed", error=Conflict):
        bind_codes(run[7].pk, count=4, kind=FRAG)
    assert kinds() == ["blank"] * 10


def test_a_label_in_use_further_on_is_named(db: None) -> None:
    run = issue_blank_run(10)
    bind_codes(run[5].pk, count=1, kind=Code.Kind.RACK)
    said = f"{show_code(run[5].pk)}, on the run that begins with {show_code(run[2].pk)}, is in use"
    with refused(said, error=Conflict):
        bind_codes(run[2].pk, count=5, kind=FRAG)
    assert kinds().count("blank") == 9
    bind_codes(run[2].pk, count=3, kind=FRAG)


def test_a_label_that_is_in_use_cannot_be_the_first(db: None) -> None:
    run = issue_blank_run(2)
    bind_codes(run[0].pk, count=1, kind=FRAG)
    other = issue_codes(1, kind=Code.Kind.COLONY)[0]
    for code in (run[0], other):
        with refused(f"{show_code(code.pk)} is in use already", error=Conflict):
            bind_codes(code.pk, count=1, kind=FRAG)


def test_labels_that_are_none_of_ours_are_refused(db: None) -> None:
    with refused("7K3-Q9F-N is a well-formed code, but none of ours", error=NotFound):
        bind_codes("7K3-Q9F-N", count=1, kind=FRAG)
    with refused("wrong", error=CodeError):
        bind_codes("7K3-Q9F-M", count=1, kind=FRAG)


def test_two_at_once_never_share_a_label(transactional_db: None) -> None:
    run = issue_blank_run(12)
    starts = [run[place].pk for place in (0, 2, 0, 2)]
    came = together(lambda first: bind_codes(first, count=6, kind=FRAG), on=starts)
    refusals = [one for one in came if isinstance(one, Conflict)]
    assert len(refusals) == 3, came
    assert kinds().count("frag") == 6
    for refusal in refusals:
        assert "in use already" in refusal.message or "Somebody else" in refusal.message
