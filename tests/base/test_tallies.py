"""Sums that are kept in the transactions that change them."""

from collections.abc import Iterator

import pytest
from django.db import transaction
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.tallies import add_to_tallies, fill_tallies
from fraginv.base.errors import Conflict
from fraginv.base.models import Tally
from fraginv.base.queries.tallies import (
    tallies_of_month,
    tally_by_month,
    tally_differences,
    tally_until,
)
from fraginv.base.rules.tallies import Tallies, tallies_under, tally_name
from fraginv.base.transactions import one_transaction, take_back_if

pytestmark = pytest.mark.django_db
MAY, JUNE = 202605, 202606


@one_transaction
def add(*changes: tuple[int, str, int], fail: bool = False) -> None:
    """Add to sums, each by an action of its own inside this one."""
    for month, name, amount in changes:
        add_one(month, name, amount)
    if fail:
        raise Conflict("no")


@one_transaction
def add_one(month: int, name: str, amount: int, *, fail: bool = False) -> None:
    """Add to one sum."""
    add_to_tallies(Tallies({(month, name): amount}))
    if fail:
        raise Conflict("no")


def kept() -> Iterator[tuple[int, str, int]]:
    """Read all sums."""
    yield from Tally.objects.order_by("month", "name").values_list("month", "name", "amount")


def test_all_changes_of_an_action_are_written_once_when_it_ends(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    add((MAY, "sold/a", 5), (JUNE, "sold/a", 1))
    with django_assert_max_num_queries(3) as counted:
        add((MAY, "sold/a", 5), (MAY, "sold/b", -2), (MAY, "sold/a", 1), (JUNE, "sold/c", 0))
    written = [row["sql"] for row in counted.captured_queries if "base_tally" in row["sql"]]
    assert len(written) == 1
    assert list(kept()) == [(MAY, "sold/a", 11), (MAY, "sold/b", -2), (JUNE, "sold/a", 1)]


def test_a_failure_leaves_nothing() -> None:
    with pytest.raises(Conflict):
        add((MAY, "sold/a", 5), fail=True)
    add((MAY, "sold/b", 1))
    assert list(kept()) == [(MAY, "sold/b", 1)]


def test_an_inner_failure_takes_its_own_away() -> None:
    @one_transaction
    def careful() -> None:
        add_one(MAY, "sold/a", 1)
        with pytest.raises(Conflict):
            add_one(MAY, "sold/a", 7, fail=True)

    careful()
    assert list(kept()) == [(MAY, "sold/a", 1)]


@pytest.mark.parametrize(("dry_run", "left"), [(True, []), (False, [(MAY, "sold/a", 1)])])
def test_a_trial_leaves_nothing(dry_run: bool, left: list[tuple[int, str, int]]) -> None:
    @one_transaction
    def load() -> None:
        with transaction.atomic():
            add_one(MAY, "sold/a", 1)
            take_back_if(dry_run)

    load()
    assert list(kept()) == left


def test_sums_belong_to_an_action() -> None:
    with pytest.raises(RuntimeError, match="inside an action"):
        add_to_tallies(Tallies({(MAY, "sold/a"): 1}))


def test_many_are_written_in_portions() -> None:
    add(*[(MAY, f"sold/{number:03d}", 1) for number in range(401)])
    assert Tally.objects.count() == 401


def test_reading() -> None:
    fill_tallies(
        Tallies({(0, "now/a"): 9, (MAY, "sold/a/net"): 3, (JUNE, "sold/a/net"): 4, (JUNE, "x"): 0})
    )
    assert tallies_of_month(MAY) == {"sold/a/net": 3}
    assert tallies_under("sold", tallies_of_month(JUNE)) == {("a", "net"): 4}
    assert tally_by_month("sold/a/net", first=202501, last=MAY) == {MAY: 3}
    assert tally_until("sold/a/net", month=JUNE) == 7
    assert tally_until("now/a", month=JUNE) == 0
    assert tally_name("sold", "a", "net") == "sold/a/net"


def test_a_sum_that_is_wrong_missing_or_too_many_is_named() -> None:
    fill_tallies(Tallies({(0, "sold/a"): 1, (MAY, "sold/b"): 2, (MAY, "other"): 5}))
    counted = Tallies({(0, "sold/a"): 3, (JUNE, "sold/c"): 4})
    assert [str(one) for one in tally_differences(counted, under=("sold",))] == [
        "sum sold/a, now: is kept as 1, and comes to 3",
        "sum sold/b, month 2026-05: is kept as 2, and comes to 0",
        "sum sold/c, month 2026-06: is kept as 0, and comes to 4",
    ]
