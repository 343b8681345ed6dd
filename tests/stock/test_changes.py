"""Grading, placing, setting apart, keeping back and losing."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions import aside, changes, grading, losses, moving
from fraginv.stock.actions.claims import hold_frag, take_for_sale
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import saleable_frags
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.holds import ClaimKind
from tests.factories import make_frag, make_frags, make_lot, make_rack
from tests.refusing import refused


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


def test_many_are_graded_at_once_or_none(grower: Person) -> None:
    frags = make_frags(grower, 3)
    ids = [frag.pk for frag in frags]
    assert grading.grade_frags(ids, size="M", by=grower, heads=4) == 3
    assert {(f.stage, f.size, f.heads) for f in Frag.objects.all()} == {("ready", "M", 4)}
    take_for_sale(ids[2], pieces=1, by=grower)
    code = show_code(frags[2].code_id)
    with refused(f"{code}: A frag that is sold cannot be graded", error=Conflict):
        grading.grade_frags(ids, size="L", by=grower)
    assert fresh(frags[0]).size == "M"
    assert not list(stock_differences())


@pytest.mark.parametrize(
    ("size", "heads", "said"),
    [("XL", None, "'XL' is no size"), ("M", 0, "0 heads"), ("M", 1000, "1000 heads")],
)
def test_grades_that_cannot_be(grower: Person, size: str, heads: int | None, said: str) -> None:
    frag = make_frag(grower)
    with refused(said, error=InputError):
        grading.grade_frags([frag.pk], size=size, heads=heads, by=grower)
    assert fresh(frag).stage == "healing"


def test_no_frag_and_a_missing_frag(grower: Person) -> None:
    with refused("Choose at least one frag", error=NotFound):
        grading.grade_frags([], size="M", by=grower)
    frag = make_frag(grower)
    with refused("A frag is not there", error=NotFound):
        grading.mark_healed([frag.pk, frag.pk + 99], by=grower)
    assert fresh(frag).stage == "healing"


def test_placing_counts_holes_from_one(grower: Person) -> None:
    rack, frag = make_rack(grower, rows=6, columns=10), make_frag(grower)
    moving.place_frags([frag.pk], rack=rack, row=6, column=10, by=grower)
    now = fresh(frag)
    assert (now.rack, now.hole_row, now.hole_column) == (rack, 6, 10)
    for row, column in [(0, 1), (7, 1), (1, 11), (1, None), (None, 1)]:
        with refused("has 6 rows and 10 columns", error=InputError):
            moving.place_frags([frag.pk], rack=rack, row=row, column=column, by=grower)
    moving.place_frags([frag.pk], rack=rack, by=grower)
    assert fresh(frag).hole_row is None
    assert not list(stock_differences())


AWAY: list[Callable[[list[int], Person], object]] = [
    lambda ids, by: aside.set_apart(ids, by=by, reason="spots"),
    lambda ids, by: aside.keep_back(ids, kept=True, by=by),
    lambda ids, by: aside.quarantine_frags(ids, rack=make_rack(by, quarantine=True), by=by),
]


@pytest.mark.parametrize("away", AWAY, ids=["apart", "kept back", "quarantined"])
def test_what_is_away_is_not_for_sale_until_it_is_back(
    grower: Person, manager: Person, away: Callable[[list[int], Person], object]
) -> None:
    frag = make_frag(grower, ready=True)
    away([frag.pk], grower)
    assert not saleable_frags().filter(pk=frag.pk).exists()
    with refused("is not for sale", error=Conflict):
        take_for_sale(frag.pk, pieces=1, by=grower)
    frag.refresh_from_db()
    if frag.kept_back:
        aside.keep_back([frag.pk], kept=False, by=grower)
    else:
        aside.release_frags([frag.pk], by=manager, despite="Cleared by the vet.")
    assert saleable_frags().filter(pk=frag.pk).exists()
    assert not list(stock_differences())


def test_quarantine_is_only_in_another_system(grower: Person) -> None:
    frag, rack = make_frag(grower), make_rack(grower)
    with refused("shares water with the display", error=Conflict):
        aside.quarantine_frags([frag.pk], rack=rack, by=grower)
    assert fresh(frag).quarantined is False


def test_loss_takes_free_pieces_with_their_cause(grower: Person) -> None:
    lot = make_lot(grower, 10, ready=True)
    hold_frag(lot.pk, pieces=4, kind=ClaimKind.NAMED, by=grower, for_name="Ines Varga")
    losses.record_loss(lot.pk, pieces=6, cause="pest", by=grower, note="flatworms")
    assert (fresh(lot).pieces, fresh(lot).free) == (4, 0)
    assert FragEvent.objects.get(kind="lost").body == {
        "pieces": 6,
        "cause": "pest",
        "note": "flatworms",
    }
    with refused("has 4 living; 5 cannot be lost", error=InputError):
        losses.record_loss(lot.pk, pieces=5, cause="pest", by=grower)
    with refused("Choose a cause", error=InputError):
        losses.record_loss(lot.pk, pieces=1, cause="boredom", by=grower)
    assert not list(stock_differences())


def test_hold_that_ran_out_does_not_keep_a_dead_piece_alive(grower: Person) -> None:
    frag = make_frag(grower, ready=True)
    hold_frag(frag.pk, pieces=1, kind=ClaimKind.WALK, by=grower, for_name="Ticket 4")
    with clock.at(clock.now() + timedelta(minutes=31)):
        losses.record_loss(frag.pk, pieces=1, cause="rtn", by=grower)
    assert fresh(frag).stage == "lost"
    assert not list(stock_differences())


def test_whoever_read_an_old_row_does_not_write_over_a_newer_one(grower: Person) -> None:
    frag = make_frag(grower)
    old = fresh(frag)
    grading.mark_healed([frag.pk], by=grower)
    with refused("Somebody else has just changed", error=Conflict):
        changes.change([old], Kind.GRADED, by=grower, body={"size": "M"})
    assert fresh(frag).stage == "growing"
