"""Rolls of blank labels: what is left, where to go on, and what was thrown away."""

import pytest
from django.db import connection
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.codes import bind_codes
from fraginv.base.errors import Conflict, NotFound
from fraginv.base.models import Code, Person
from fraginv.labels.actions.printing import print_again, start_run
from fraginv.labels.actions.rolls import retire_roll
from fraginv.labels.models import PrintRun, RetiredRoll
from fraginv.labels.queries.rolls import BLANK, get_roll, roll_list
from fraginv.labels.queries.runs import run_codes
from fraginv.labels.rules.rolls import Stretch, stretches
from fraginv.stock.actions.cuttings import cut_colony
from tests.factories import make_colony


def print_roll(by: Person, count: int) -> tuple[PrintRun, list[str]]:
    """Print a roll of blank labels; return its codes."""
    run = start_run((), blank=count, by=by)
    return run, [code.pk for code in run_codes(run)]


def test_rows_without_gaps_are_joined() -> None:
    places = [(0, "a"), (1, "b"), (4, "c"), (6, "d"), (7, "e"), (8, "f")]
    assert stretches(places) == [Stretch("a", 0, 2), Stretch("c", 4, 1), Stretch("d", 6, 3)]
    assert stretches([]) == []
    assert Stretch("d", 6, 3).number == 7


def test_a_cutting_takes_from_the_roll_and_the_rest_is_told(grower: Person) -> None:
    run, codes = print_roll(grower, 30)
    cut_colony(make_colony(grower).pk, pieces=12, first_code=codes[0], by=grower)
    (roll,) = roll_list().rows
    assert (roll.left, roll.printed) == (18, run)
    assert roll.next_free == Stretch(codes[12], 12, 18)
    cut_colony(make_colony(grower).pk, pieces=4, first_code=roll.next_free.first, by=grower)
    assert get_roll(roll.number).next_free == Stretch(codes[16], 16, 14)


def test_a_gap_is_told(grower: Person) -> None:
    _, codes = print_roll(grower, 10)
    bind_codes(codes[2], count=3, kind=Code.Kind.FRAG)
    (roll,) = roll_list().rows
    assert roll.stretches == [Stretch(codes[0], 0, 2), Stretch(codes[5], 5, 5)]
    assert roll.next_free.first == codes[5]


def test_a_used_up_roll_is_no_longer_listed(grower: Person) -> None:
    _, codes = print_roll(grower, 3)
    number = roll_list().rows[0].number
    bind_codes(codes[0], count=3, kind=Code.Kind.FRAG)
    assert roll_list().rows == []
    with pytest.raises(NotFound, match=f"Roll {number} has no blank labels left"):
        get_roll(number)


def test_the_latest_roll_comes_first_page_by_page(grower: Person) -> None:
    for _ in range(5):
        print_roll(grower, 2)
    first = roll_list(size=3)
    second = roll_list(size=3, after=first.after)
    numbers = [roll.number for roll in [*first.rows, *second.rows]]
    assert numbers == sorted(numbers, reverse=True)
    assert len(numbers) == 5
    assert (first.is_first, second.is_first, second.after) == (True, False, None)


@pytest.mark.parametrize("count", [1, 10])
def test_the_list_needs_three_queries_however_long(
    grower: Person, count: int, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(count):
        print_roll(grower, 2)
    with django_assert_max_num_queries(3):
        rows = roll_list().rows
        assert [roll.printed.by.name for roll in rows if roll.printed] == [grower.name] * count


def test_the_run_is_that_in_which_it_was_printed_first(grower: Person) -> None:
    run, _ = print_roll(grower, 4)
    print_again(run.pk, first=3, by=grower)
    assert roll_list().rows[0].printed == run


def test_what_is_left_is_found_in_an_index_of_blank_codes_alone(grower: Person) -> None:
    print_roll(grower, 2)
    counted = Code.objects.filter(BLANK).values_list("run", "position").order_by("-run")
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL enable_seqscan = off")
        plan = counted.explain()
    assert "code_blank_in_run" in plan


def test_the_rest_of_a_roll_is_thrown_away(grower: Person) -> None:
    _, codes = print_roll(grower, 10)
    bind_codes(codes[0], count=4, kind=Code.Kind.FRAG)
    number = roll_list().rows[0].number
    retired = retire_roll(number, by=grower)
    assert (retired.number, retired.thrown_away, retired.by) == (number, 6, grower)
    assert roll_list().rows == []
    assert Code.objects.filter(run=number, kind=Code.Kind.FRAG).count() == 4
    with pytest.raises(NotFound, match="was thrown away"):
        get_roll(number)


def test_nothing_is_cut_or_printed_with_what_was_thrown_away(grower: Person) -> None:
    run, codes = print_roll(grower, 5)
    retire_roll(roll_list().rows[0].number, by=grower)
    with pytest.raises(Conflict, match="was thrown away with its roll. Scan another"):
        cut_colony(make_colony(grower).pk, pieces=2, first_code=codes[0], by=grower)
    with pytest.raises(Conflict, match="was thrown away with its roll"):
        start_run([codes[0]], by=grower)
    with pytest.raises(Conflict, match="was thrown away with its roll"):
        print_again(run.pk, by=grower)
    assert PrintRun.objects.count() == 1


def test_a_roll_is_thrown_away_once(grower: Person) -> None:
    print_roll(grower, 2)
    number = roll_list().rows[0].number
    retire_roll(number, by=grower)
    with pytest.raises(NotFound, match="was thrown away"):
        retire_roll(number, by=grower)
    with pytest.raises(NotFound, match="Roll 99 has no blank labels left"):
        retire_roll(99, by=grower)
    assert RetiredRoll.objects.count() == 1
