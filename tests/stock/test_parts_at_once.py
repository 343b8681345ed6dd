"""Two people who change the same frags at the same time."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.stock.actions.care import relabel_frag
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.parts import join_frags, recut_frag, split_frag
from fraginv.stock.models import Cutting, Frag
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_colony, make_frags, make_lot

pytestmark = pytest.mark.django_db(transaction=True)
BOTH = 2


def at_once(*acts: Callable[[], object]) -> list[str]:
    """Do all at once, each on its own connection; return what those that were refused were told."""

    def run(act: Callable[[], object]) -> str:
        try:
            act()
        except FraginvError as error:
            return error.message
        finally:
            connection.close()
        return ""

    with ThreadPoolExecutor(len(acts)) as pool:
        return [said for said in pool.map(run, acts) if said]


def pieces() -> int:
    return sum(Frag.objects.values_list("pieces", flat=True))


def test_no_piece_leaves_a_lot_twice(grower: Person) -> None:
    lot = make_lot(grower, 4)
    acts = [lambda: split_frag(lot.pk, pieces=2, by=grower)] * BOTH
    refused = at_once(*acts)
    assert pieces() == 4
    assert len(refused) == 1
    assert "Somebody else has just changed" in refused[0] or "can leave it" in refused[0]
    assert not list(stock_differences())


def test_one_label_is_bound_once(grower: Person) -> None:
    one, other = make_frags(grower, 2)
    (label,) = issue_blank_run(1)
    refused = at_once(
        lambda: relabel_frag(one.pk, new_code=label.code, by=grower),
        lambda: relabel_frag(other.pk, new_code=label.code, by=grower),
    )
    assert len(refused) == 1
    assert Frag.objects.filter(code=label.code).count() == 1
    assert not list(stock_differences())


def test_two_that_join_each_other_leave_one(grower: Person) -> None:
    one, other = make_frags(grower, 2)
    refused = at_once(
        lambda: join_frags(one.pk, other_ids=[other.pk], by=grower),
        lambda: join_frags(other.pk, other_ids=[one.pk], by=grower),
    )
    assert len(refused) == 1
    assert pieces() == 1
    assert not list(stock_differences())


def test_cut_again_and_joined_at_once(grower: Person) -> None:
    one, other = make_frags(grower, 2)
    refused = at_once(
        lambda: recut_frag(one.pk, into=3, by=grower),
        lambda: join_frags(other.pk, other_ids=[one.pk], by=grower),
    )
    assert len(refused) in {0, 1}
    assert pieces() in {1, 2, 3, 4}
    assert not list(stock_differences())


def test_two_cut_one_colony(grower: Person) -> None:
    colony = make_colony(grower, rest_days=30)
    labels = issue_blank_run(4)
    first = labels[0].code
    refused = at_once(
        *[lambda: cut_colony(colony.pk, pieces=3, first_code=first, by=grower)] * BOTH
    )
    assert len(refused) == 1
    assert Cutting.objects.count() == 1
    assert pieces() == 3
    assert not list(stock_differences())
