"""Holding, selling, letting go and taking back, one after another."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.aside import set_apart
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.claims import (
    end_claim,
    hold_frag,
    let_go,
    take_back,
    take_for_sale,
)
from fraginv.stock.actions.counting import give_frags
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.actions.parts import join_frags
from fraginv.stock.models import Claim, Frag
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import saleable_frags
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import make_frag, make_lot, make_rack


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


def test_hold_takes_pieces_and_tells_the_next(seller: Person) -> None:
    lot = make_lot(seller, 30, ready=True)
    hold = hold_frag(lot.pk, pieces=5, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    assert (fresh(lot).free, fresh(lot).pieces) == (25, 30)
    assert hold.until is not None
    with pytest.raises(Conflict, match=r"25 free of 30: Ines Varga has 5 until \d{4}-"):
        hold_frag(lot.pk, pieces=26, kind=ClaimKind.NAMED, by=seller, for_name="Next")
    assert not list(stock_differences())


def test_hold_that_ran_out_is_ended_by_the_next_taker(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    old = hold_frag(frag.pk, pieces=1, kind=ClaimKind.WALK, by=seller, for_name="Ticket 4")
    with clock.at(clock.now() + timedelta(minutes=31)):
        assert vars(saleable_frags().get(pk=frag.pk))["free_now"] == 1
        new = hold_frag(frag.pk, pieces=1, kind=ClaimKind.WALK, by=seller, for_name="Ticket 5")
    old.refresh_from_db()
    assert old.ended_how == "ran out"
    assert new.ended_at is None
    assert fresh(frag).free == 0
    assert not list(stock_differences())


def test_hold_that_ran_out_cannot_be_sold(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    hold = hold_frag(frag.pk, pieces=1, kind=ClaimKind.WALK, by=seller, for_name="Ticket 4")
    with (
        clock.at(clock.now() + timedelta(minutes=31)),
        pytest.raises(Conflict, match="hold of Ticket 4 has ended"),
    ):
        take_for_sale(frag.pk, pieces=1, hold_id=hold.pk, by=seller)


def test_sale_of_part_of_a_hold_frees_the_rest(seller: Person) -> None:
    lot = make_lot(seller, 30, ready=True)
    hold = hold_frag(lot.pk, pieces=5, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    sale = take_for_sale(lot.pk, pieces=3, hold_id=hold.pk, by=seller)
    hold.refresh_from_db()
    assert hold.turned_into == sale
    assert (fresh(lot).free, fresh(lot).pieces, fresh(lot).stage) == (27, 27, "ready")
    with pytest.raises(Conflict, match="has ended"):
        let_go(hold.pk, by=seller)
    assert not list(stock_differences())


def test_last_piece_ends_the_frag_and_a_living_return_brings_it_back(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    sale = take_for_sale(frag.pk, pieces=1, by=seller)
    assert fresh(frag).stage == "sold"
    assert fresh(frag).ended_on is not None
    with pytest.raises(Conflict, match="sold already"):
        take_for_sale(frag.pk, pieces=1, by=seller)
    take_back(sale.pk, pieces=1, alive=True, by=seller)
    assert (fresh(frag).stage, fresh(frag).free, fresh(frag).ended_on) == ("ready", 1, None)
    with pytest.raises(Conflict, match="not so many pieces"):
        take_back(sale.pk, pieces=1, alive=True, by=seller)
    assert not list(stock_differences())


def test_dead_return_leaves_the_frag_sold(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    sale = take_for_sale(frag.pk, pieces=1, by=seller)
    take_back(sale.pk, pieces=1, alive=False, by=seller)
    assert (fresh(frag).stage, fresh(frag).pieces) == ("sold", 0)
    assert not list(stock_differences())


def test_let_go_frees_once(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    hold = hold_frag(frag.pk, pieces=1, kind=ClaimKind.PAID, by=seller, for_name="Ines Varga")
    let_go(hold.pk, by=seller)
    with pytest.raises(Conflict, match="ended already"):
        let_go(hold.pk, by=seller)
    assert fresh(frag).free == 1


@pytest.mark.parametrize(
    ("pieces", "message"),
    [(0, "at least 1"), (-3, "at least 1"), (31, "30 living pieces, not 31")],
)
def test_numbers_that_cannot_be_held(seller: Person, pieces: int, message: str) -> None:
    lot = make_lot(seller, 30, ready=True)
    with pytest.raises(InputError, match=message):
        hold_frag(lot.pk, pieces=pieces, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    assert fresh(lot).free == 30
    assert not Claim.objects.exists()


def test_hold_in_the_past_or_for_nobody(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    past = clock.now() - timedelta(minutes=1)
    with pytest.raises(InputError, match="in the past"):
        hold_frag(frag.pk, pieces=1, kind=ClaimKind.NAMED, by=seller, for_name="Ines", until=past)
    with pytest.raises(InputError, match="for whom"):
        hold_frag(frag.pk, pieces=1, kind=ClaimKind.NAMED, by=seller)
    assert fresh(frag).free == 1


def test_what_is_not_ready_or_set_apart_is_not_for_sale(seller: Person) -> None:
    healing = make_frag(seller)
    with pytest.raises(Conflict, match="still healing: grade it ready first"):
        take_for_sale(healing.pk, pieces=1, by=seller)
    apart = make_frag(seller, ready=True)
    set_apart([apart.pk], by=seller)
    with pytest.raises(Conflict, match="set apart"):
        hold_frag(apart.pk, pieces=1, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")


def test_held_pieces_are_written_off_last(seller: Person) -> None:
    lot = make_lot(seller, 3, ready=True)
    hold = hold_frag(lot.pk, pieces=2, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    record_loss(lot.pk, pieces=1, cause="fell", by=seller)
    assert (fresh(lot).pieces, fresh(lot).free) == (2, 0)
    record_loss(lot.pk, pieces=1, cause="fell", by=seller)
    assert (fresh(lot).pieces, fresh(lot).free) == (1, 0)
    assert Claim.objects.get(pk=hold.pk).pieces == 1
    assert not list(stock_differences())


def test_taking_pieces_is_one_update_of_one_table(seller: Person) -> None:
    """A row chosen in a sub-select is not looked at again after waiting for a lock.

    Source: PostgreSQL documentation, 13.2.1 Read Committed Isolation Level.
    """
    frag = make_frag(seller, ready=True)
    with CaptureQueriesContext(connection) as asked:
        hold_frag(frag.pk, pieces=1, kind=ClaimKind.WALK, by=seller, for_name="Ticket 4")
    updates = [row["sql"] for row in asked if row["sql"].startswith('UPDATE "stock_frag"')]
    assert len(updates) == 1
    assert '"stock_frag"."free" >= 1' in updates[0]
    assert "IN (SELECT" not in updates[0]


def test_what_comes_of_a_barred_colony_is_not_for_sale(seller: Person) -> None:
    frag = make_frag(seller, ready=True)
    assert frag.colony is not None
    bar_colony(frag.colony, because="held for an authority", by=seller)
    with pytest.raises(Conflict, match="colony is barred"):
        take_for_sale(frag.pk, pieces=1, by=seller)
    assert not saleable_frags().exists()


def test_a_hold_that_was_made_smaller_meanwhile_frees_no_more_than_it_has(people: People) -> None:
    by = people[Role.SELLER]
    lot = make_lot(by, 8, ready=True)
    hold_frag(lot.pk, pieces=5, kind=ClaimKind.NAMED, by=by, for_name="Ines Varga")
    later = hold_frag(lot.pk, pieces=3, kind=ClaimKind.NAMED, by=by, for_name="Ole Quist")
    as_read = Claim.objects.select_related("by").get(pk=later.pk)
    record_loss(lot.pk, pieces=2, cause="fell", by=people[Role.GROWER])
    assert Claim.objects.get(pk=later.pk).pieces == 1
    assert not end_claim(as_read, how="let go", by=by, now=clock.now())
    now = Frag.objects.get(pk=lot.pk)
    assert (now.pieces, now.free) == (6, 0)
    assert list(stock_differences()) == []


def given(lot: Frag, by: Person) -> object:
    """Give the rest of a lot away."""
    return give_frags([lot.pk], why="school", pieces=2, by=by)


def kept(lot: Frag, by: Person) -> object:
    """Keep the rest of a lot as a colony."""
    return keep_as_colony(lot.pk, by=by)


def joined(lot: Frag, by: Person) -> object:
    """Let another lot take in the rest of a lot."""
    other = make_lot(by, 5, ready=True, colony=lot.colony)
    return join_frags(other.pk, other_ids=[lot.pk], by=by)


@pytest.mark.parametrize(("ended", "stage"), [(given, "given"), (kept, "kept"), (joined, "joined")])
def test_what_comes_back_to_what_has_ended_is_ready_again(
    people: People, ended: Callable[[Frag, Person], object], stage: str
) -> None:
    by = people[Role.GROWER]
    lot = make_lot(by, 3, ready=True, rack=make_rack(by))
    sale = take_for_sale(lot.pk, pieces=1, by=people[Role.SELLER])
    ended(lot, by)
    assert Frag.objects.get(pk=lot.pk).stage == stage
    take_back(sale.pk, pieces=1, alive=True, by=people[Role.SELLER])
    now = Frag.objects.get(pk=lot.pk)
    assert (now.stage, now.pieces, now.free, now.rack, now.ended_on) == ("ready", 1, 1, None, None)
    assert list(stock_differences()) == []
    hold_frag(lot.pk, pieces=1, kind=ClaimKind.NAMED, by=by, for_name="Ines Varga")
    assert list(stock_differences()) == []
