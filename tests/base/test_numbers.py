"""Numbers without gaps, one or many at a time."""

import pytest
from django.db import transaction
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.keeping import next_number, next_numbers
from fraginv.base.models import NumberSeries


def test_numbers_follow_each_other_by_series_and_year(db: None) -> None:
    asked = [("S", 2026), ("S", 2026), ("S", 2025), ("B", 2026), ("S", 2026)]
    assert [next_number(series, year=year) for series, year in asked] == [1, 2, 1, 1, 3]


def test_a_run_starts_where_the_last_ended(db: None) -> None:
    assert next_number("S", year=2026, count=10) == 1
    assert next_number("S", year=2026) == 11


def test_many_papers_take_their_numbers_in_order(
    db: None, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    next_number("S", year=2026)
    next_number("S", year=2025)
    with django_assert_max_num_queries(4):
        numbers = next_numbers("S", years=[2026, 2025, 2026, 2026])
    assert numbers == [2, 2, 3, 4]
    assert next_numbers("S", years=[]) == []


def test_a_failure_gives_numbers_back(db: None) -> None:
    next_number("S", year=2026)

    @transaction.atomic
    def take_and_fail() -> None:
        next_numbers("S", years=[2026, 2026])
        raise RuntimeError("the paper could not be written")

    with pytest.raises(RuntimeError, match="could not be written"):
        take_and_fail()
    assert NumberSeries.objects.get(series="S").last == 1
