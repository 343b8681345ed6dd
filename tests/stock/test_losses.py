"""Losses: pieces that were put aside, days that have passed, many at once, and taking back."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.queries.tallies import tallies_of_month
from fraginv.stock.actions.aside import quarantine_frags, set_apart
from fraginv.stock.actions.claims import hold_frag, take_for_sale
from fraginv.stock.actions.counting import found_again
from fraginv.stock.actions.grading import mark_not_ready
from fraginv.stock.actions.losses import (
    LossItem,
    record_loss,
    record_losses,
    undo_loss,
    undo_losses,
)
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Claim, Frag, FragEvent, Loss
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.loss_differences import loss_differences
from fraginv.stock.rules.holds import ClaimKind
from tests.factories import make_frag, make_frags, make_lot, make_rack
from tests.refusing import refused

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
pytestmark = pytest.mark.usefixtures("frozen")


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


def hold(lot: Frag, pieces: int, kind: ClaimKind, name: str, *, by: Person) -> Claim:
    return hold_frag(lot.pk, pieces=pieces, kind=kind, by=by, for_name=name)


def items(frags: list[Frag]) -> list[LossItem]:
    return [LossItem(frag.pk, frag.pieces) for frag in frags]


def test_held_pieces_may_die_and_the_hold_gives_way(grower: Person) -> None:
    lot = make_lot(grower, 10, ready=True)
    paid = hold(lot, 2, ClaimKind.PAID, "Paula Quay", by=grower)
    named = hold(lot, 3, ClaimKind.NAMED, "Nell Ford", by=grower)
    later = hold(lot, 1, ClaimKind.NAMED, "Lars Holm", by=grower)
    walk = hold(lot, 2, ClaimKind.WALK, "Wim Voss", by=grower)
    lost = record_losses([LossItem(lot.pk, 7)], cause="pest", by=grower)
    assert lost.promised == [("Wim Voss", 2), ("Lars Holm", 1), ("Nell Ford", 2)]
    told = dict(Claim.objects.values_list("pk", "ended_how"))
    assert told == {paid.pk: "", named.pk: "", later.pk: "lost", walk.pk: "lost"}
    assert dict(Claim.objects.values_list("pk", "pieces"))[named.pk] == 1
    assert (fresh(lot).pieces, fresh(lot).free) == (3, 0)
    gone = FragEvent.objects.filter(frag=lot, kind="let go").order_by("seq")
    assert [event.body["how"] for event in gone] == ["lost"] * 3
    take_for_sale(lot.pk, pieces=1, by=grower, hold_id=named.pk)
    record_loss(lot.pk, pieces=2, cause="rtn", by=grower)
    assert fresh(lot).stage == "lost"
    assert Claim.objects.get(pk=paid.pk).ended_how == "lost"
    assert not list(stock_differences())


def test_free_pieces_go_first(grower: Person) -> None:
    lot = make_lot(grower, 10, ready=True)
    kept = hold(lot, 4, ClaimKind.WALK, "Wim Voss", by=grower)
    assert record_losses([LossItem(lot.pk, 6)], cause="fell", by=grower).promised == []
    assert Claim.objects.get(pk=kept.pk).ended_at is None


def test_a_hold_on_what_is_not_ready_any_more_gives_way_too(grower: Person) -> None:
    frag = make_frag(grower, ready=True)
    hold(frag, 1, ClaimKind.NAMED, "Nell Ford", by=grower)
    mark_not_ready([frag.pk], by=grower)
    set_apart([frag.pk], by=grower, reason="pale")
    record_loss(frag.pk, pieces=1, cause="bleaching", by=grower)
    assert fresh(frag).stage == "lost"
    assert not list(stock_differences())


def test_many_at_once_or_none(grower: Person) -> None:
    frags, lot = make_frags(grower, 3, ready=True), make_lot(grower, 9)
    take_for_sale(frags[1].pk, pieces=1, by=grower)
    with refused("is sold already", error=Conflict):
        record_losses([*items(frags), LossItem(lot.pk, 4)], cause="pest", by=grower)
    assert not Loss.objects.exists()
    done = record_losses(
        [LossItem(lot.pk, 4), *items([frags[0], frags[2]])], cause="pest", by=grower, note="worms"
    )
    assert sorted(loss.pieces for loss in done.losses) == [1, 1, 4]
    assert {loss.cause for loss in done.losses} == {"pest"}
    assert fresh(lot).pieces == 5


@pytest.mark.parametrize(
    ("pieces", "cause", "said"),
    [(0, "pest", "0 cannot be lost"), (4, "pest", "4 cannot"), (1, "boredom", "Choose a cause")],
)
def test_losses_that_cannot_be(grower: Person, pieces: int, cause: str, said: str) -> None:
    lot = make_lot(grower, 3)
    with refused(said, error=InputError):
        record_losses([LossItem(lot.pk, pieces)], cause=cause, by=grower)
    assert fresh(lot).pieces == 3


def test_a_loss_is_dated_back_to_the_last_thing_known_of_it(grower: Person) -> None:
    with clock.at(NOON - timedelta(days=30)):
        frags = make_frags(grower, 2)
    with clock.at(NOON - timedelta(days=10)):
        place_frags([frags[1].pk], rack=make_rack(grower), by=grower)
    with refused("was placed on 2026-11-15, so it was not lost before", error=InputError):
        record_losses(items(frags), cause="rtn", day=date(2026, 11, 14), by=grower)
    with refused("has not come yet", error=InputError):
        record_losses(items(frags), cause="rtn", day=date(2026, 11, 26), by=grower)
    lost = record_losses(items([frags[0]]), cause="rtn", day=date(2026, 10, 26), by=grower)
    (loss,) = lost.losses
    assert (loss.day, loss.month, loss.age_days) == (date(2026, 10, 26), 202610, 0)
    assert loss.event.recorded_at == NOON
    record_losses(items([frags[1]]), cause="rtn", day=date(2026, 11, 15), by=grower)
    assert tallies_of_month(202610)["stock/lost"] == 1
    assert not list(stock_differences())


@pytest.mark.parametrize("lot", [False, True], ids=["frag", "lot"])
def test_a_loss_is_taken_back_within_the_hour_alone(grower: Person, lot: bool) -> None:
    frag = make_lot(grower, 5, ready=True) if lot else make_frag(grower, ready=True)
    loss = record_loss(frag.pk, pieces=frag.pieces, cause="fell", by=grower)
    with (
        clock.at(NOON + timedelta(minutes=61)),
        refused("more than an hour ago", error=Conflict),
    ):
        undo_loss(loss.pk, by=grower)
    assert fresh(frag).stage == "lost"
    with clock.at(NOON + timedelta(minutes=59)):
        undo_loss(loss.pk, by=grower)
        with refused("taken back already", error=Conflict):
            undo_loss(loss.pk, by=grower)
    now = fresh(frag)
    assert (now.stage, now.pieces, now.free, now.ended_on) == (
        "ready",
        frag.pieces,
        now.pieces,
        None,
    )
    assert Loss.objects.get(pk=loss.pk).undone
    assert tallies_of_month(202611)["stock/lost"] == 0
    assert not list(stock_differences())


def test_part_of_a_lot_is_taken_back(grower: Person) -> None:
    lot = make_lot(grower, 9)
    first = record_loss(lot.pk, pieces=4, cause="fell", by=grower)
    record_loss(lot.pk, pieces=5, cause="pest", by=grower)
    undo_loss(first.pk, by=grower)
    assert (fresh(lot).pieces, fresh(lot).stage) == (4, "healing")
    assert not list(stock_differences())


def test_a_loss_dated_back_is_taken_back_within_an_hour_of_writing_it(grower: Person) -> None:
    with clock.at(NOON - timedelta(days=60)):
        frag = make_frag(grower)
    lost = record_losses(items([frag]), cause="rtn", day=date(2026, 10, 30), by=grower)
    undo_losses([loss.pk for loss in lost.losses], by=grower)
    assert fresh(frag).pieces == 1
    assert tallies_of_month(202610)["stock/lost"] == 0
    assert not list(stock_differences())


def test_whoever_took_its_hole_meanwhile_keeps_it(grower: Person) -> None:
    rack, (first, second) = make_rack(grower), make_frags(grower, 2)
    place_frags([first.pk], rack=rack, row=2, column=3, by=grower)
    loss = record_loss(first.pk, pieces=1, cause="fell", by=grower)
    place_frags([second.pk], rack=rack, row=2, column=3, by=grower)
    undo_loss(loss.pk, by=grower)
    assert (fresh(first).rack, fresh(first).hole_row) == (rack, None)
    assert fresh(second).hole_row == 2
    assert not list(stock_differences())


def test_it_comes_back_where_and_as_it_was(grower: Person) -> None:
    rack, frag = make_rack(grower, quarantine=True), make_frag(grower, ready=True)
    quarantine_frags([frag.pk], rack=rack, by=grower)
    loss = record_loss(frag.pk, pieces=1, cause="pest", by=grower)
    assert (loss.rack, loss.trough) == (rack, rack.trough)
    undo_loss(loss.pk, by=grower)
    now = fresh(frag)
    assert (now.rack, now.quarantined, now.stage) == (rack, True, "ready")
    assert not list(stock_differences())


def test_none_and_a_missing_loss(grower: Person) -> None:
    with refused("Choose at least one loss", error=NotFound):
        undo_losses([], by=grower)
    with refused("no such loss", error=NotFound):
        undo_losses([99], by=grower)


def test_verify_finds_losses_that_are_not_as_their_events(grower: Person) -> None:
    frags = make_frags(grower, 4)
    losses = record_losses(items(frags), cause="fell", by=grower).losses
    undo_loss(losses[3].pk, by=grower)
    assert not list(loss_differences())
    Loss.objects.filter(pk=losses[0].pk).update(pieces=2)
    Loss.objects.filter(pk=losses[1].pk).update(undone=True)
    Loss.objects.filter(pk=losses[2].pk).delete()
    Loss.objects.filter(pk=losses[3].pk).update(undone=False, day=today() - timedelta(days=1))
    told = [difference.what for difference in loss_differences()]
    assert len(told) == 5
    assert "its loss says 2 pieces, its event 1" in told[0]
    assert "loss is undone, its events say that it counts" in told[1]
    assert "has no row among the losses" in told[2]


def test_a_loss_whose_piece_was_found_since_is_not_taken_back_too(grower: Person) -> None:
    frag = make_frag(grower)
    loss = record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    found_again(frag.pk, by=grower)
    with refused("was found since", error=Conflict):
        undo_loss(loss.pk, by=grower)
    assert Frag.objects.get(pk=frag.pk).pieces == 1
    assert not Loss.objects.get(pk=loss.pk).undone
    assert list(stock_differences()) == []
