"""Dips, mounts, labels; what is found, counted and given."""

from datetime import timedelta

import pytest

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Code, OldCode, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions import aside, losses
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.care import dip_frags, relabel_frag, remount_frags
from fraginv.stock.actions.claims import hold_frag, take_for_sale
from fraginv.stock.actions.counting import count_lot, found_again, give_frags
from fraginv.stock.models import Frag, FragEvent, Loss, StopSale
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import frag_by_code, frags_carrying
from fraginv.stock.rules.holds import ClaimKind
from tests.factories import make_frag, make_frags, make_lot, make_rack
from tests.refusing import refused


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


def test_a_dip_and_the_next(grower: Person) -> None:
    frags = make_frags(grower, 2)
    ids, again = [frag.pk for frag in frags], today() + timedelta(days=7)
    assert dip_frags(ids, dip="  iodine,  ten minutes ", again=again, by=grower) == 2
    assert {frag.dip_due_on for frag in map(fresh, frags)} == {again}
    body = FragEvent.objects.filter(kind="dipped")[0].body
    assert body == {"dip": "iodine, ten minutes", "again": again.isoformat()}
    dip_frags(ids, dip="iodine", by=grower)
    assert {frag.dip_due_on for frag in map(fresh, frags)} == {None}
    assert not list(stock_differences())


@pytest.mark.parametrize(
    ("dip", "days", "said"),
    [
        ("", 7, "Write down what the frags were dipped in"),
        ("x" * 61, 7, "at most 60 characters"),
        ("iodine", 0, "choose a day after today"),
        ("iodine", -3, "choose a day after today"),
        ("iodine", 366, "within 365 days"),
    ],
)
def test_dips_that_cannot_be(grower: Person, dip: str, days: int, said: str) -> None:
    frag = make_frag(grower)
    with refused(said, error=InputError):
        dip_frags([frag.pk], dip=dip, again=today() + timedelta(days=days), by=grower)
    assert not FragEvent.objects.filter(kind="dipped").exists()


def test_what_it_was_cut_onto_stays_beside_what_it_stands_on(grower: Person) -> None:
    frag = make_frag(grower)
    remount_frags([frag.pk], medium="tile", by=grower)
    assert (fresh(frag).medium, fresh(frag).new_medium) == ("plug", "tile")
    with refused("frags stand on one of plug, disc, tile", error=InputError):
        remount_frags([frag.pk], medium="rock", by=grower)
    assert not list(stock_differences())


def test_the_old_code_leads_to_a_relabelled_frag(grower: Person) -> None:
    frag, (label, other, *_) = make_frag(grower), issue_blank_run(3)
    first = frag.code_id
    relabel_frag(frag.pk, new_code=show_code(label.code).lower(), by=grower)
    assert fresh(frag).code_id == label.code
    assert Code.objects.get(pk=label.code).kind == Code.Kind.FRAG
    relabel_frag(frag.pk, new_code=other.code, by=grower)
    assert fresh(frag).code_id == other.code
    for old in (first, label.code):
        assert frag_by_code(old) == frag
        assert frags_carrying([old, other.code]) == [frag]
    assert set(OldCode.objects.values_list("code", "folded")) == {
        (other.code, first),
        (other.code, label.code),
    }
    told = FragEvent.objects.filter(kind="relabelled").order_by("seq")
    assert [event.body for event in told] == [
        {"from": show_code(first)},
        {"from": show_code(label.code)},
    ]
    assert not list(stock_differences())


def test_a_label_in_use_is_no_new_label(grower: Person, seller: Person) -> None:
    one, other = make_frags(grower, 2, ready=True)
    with refused("is in use already", error=Conflict):
        relabel_frag(one.pk, new_code=other.code_id, by=grower)
    with refused("A character in .* is wrong", error=InputError):
        relabel_frag(one.pk, new_code="7K3-Q9F-X", by=grower)
    take_for_sale(one.pk, pieces=1, by=seller)
    with refused("A frag that is sold cannot be relabelled", error=Conflict):
        relabel_frag(one.pk, by=grower)
    assert fresh(one).code_id == one.code_id
    relabel_frag(other.pk, by=grower)
    assert fresh(other).code_id != other.code_id
    with refused("is not a frag", error=NotFound):
        frag_by_code("7K3Q9FN")


def test_what_was_lost_is_found_and_grows_on(grower: Person) -> None:
    frag, rack = make_frag(grower, ready=True), make_rack(grower)
    losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    with clock.at(clock.now() + timedelta(days=20)):
        found_again(frag.pk, rack=rack, note="behind the pump", by=grower)
        now = fresh(frag)
        assert (now.stage, now.pieces, now.free, now.rack) == ("growing", 1, 1, rack)
        assert now.ended_on is None
        assert Loss.objects.get().undone is False
        assert not list(stock_differences())
        with refused("is not lost: it is growing", error=Conflict):
            found_again(frag.pk, by=grower)


def test_a_cut_found_the_next_day_still_heals(grower: Person) -> None:
    frag = make_frag(grower)
    losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    for pieces in (0, 2, 501):
        with refused(f"{pieces} ", error=InputError):
            found_again(frag.pk, pieces=pieces, by=grower)
    quarantine = make_rack(grower, quarantine=True)
    with refused("is quarantine", error=Conflict):
        found_again(frag.pk, rack=quarantine, by=grower)
    found_again(frag.pk, by=grower)
    assert fresh(frag).stage == "healing"
    assert not list(stock_differences())


def test_what_was_sold_is_not_found(grower: Person, seller: Person) -> None:
    frag = make_frag(grower, ready=True)
    take_for_sale(frag.pk, pieces=1, by=seller)
    with refused("A frag that is sold cannot be found", error=Conflict):
        found_again(frag.pk, by=grower)


def test_a_lot_is_counted_down_and_up(grower: Person) -> None:
    lot = make_lot(grower, 30)
    assert count_lot(lot.pk, pieces=27, cause="fell", note="count", by=grower) == -3
    assert (Loss.objects.get().pieces, Loss.objects.get().cause) == (3, "fell")
    assert count_lot(lot.pk, pieces=29, by=grower) == 2
    assert count_lot(lot.pk, pieces=29, by=grower) == 0
    kinds = lot.events.order_by("seq").values_list("kind", flat=True)
    assert list(kinds) == ["cut", "lost", "found", "inspected"]
    assert fresh(lot).pieces == 29
    with refused("Choose a cause", error=InputError):
        count_lot(lot.pk, pieces=3, by=grower)
    with refused("-1 pieces: write how many are there", error=InputError):
        count_lot(lot.pk, pieces=-1, by=grower)
    with refused("1,000,000 pieces", error=InputError):
        count_lot(lot.pk, pieces=1_000_000, by=grower)
    with refused("is one piece, not a lot", error=Conflict):
        count_lot(make_frag(grower).pk, pieces=1, by=grower)
    assert count_lot(lot.pk, pieces=0, cause="rtn", by=grower) == -29
    assert fresh(lot).stage == "lost"
    assert not list(stock_differences())


def test_frags_are_given(grower: Person) -> None:
    frags, lot = make_frags(grower, 2), make_lot(grower, 6)
    ids = [frag.pk for frag in frags]
    assert give_frags(ids, why="school", to="Harbour  School", by=grower) == 2
    assert {(frag.stage, frag.pieces) for frag in map(fresh, frags)} == {("given", 0)}
    told = frags[0].events.get(kind="given").body
    assert told == {"why": "school", "to": "Harbour School", "paper": "", "pieces": 1}
    assert give_frags([lot.pk], why="sale", paper="S-2026-0004", pieces=2, by=grower) == 2
    assert fresh(lot).pieces == 4
    with refused("A frag that is given cannot be given", error=Conflict):
        give_frags(ids, why="raffle", by=grower)
    assert not list(stock_differences())


def test_what_may_not_be_given(grower: Person, seller: Person, manager: Person) -> None:
    lot, frag = make_lot(grower, 5, ready=True), make_frag(grower, ready=True)
    with refused("Choose from the list what it is given for", error=InputError):
        give_frags([frag.pk], why="fun", by=grower)
    with refused("Write the number of the sale", error=InputError):
        give_frags([frag.pk], why="sale", by=grower)
    with refused("Give from one lot at a time", error=InputError):
        give_frags([lot.pk, frag.pk], why="school", by=grower)
    for pieces in (0, 6):
        with refused(f"has 5 living pieces; {pieces} cannot be given", error=InputError):
            give_frags([lot.pk], why="school", pieces=pieces, by=grower)
    hold_frag(lot.pk, pieces=4, kind=ClaimKind.NAMED, for_name="Ida", by=seller)
    with refused("1 free of 5", error=Conflict):
        give_frags([lot.pk], why="school", pieces=2, by=grower)
    aside.set_apart([frag.pk], by=grower)
    with refused("Release it before it is given", error=Conflict):
        give_frags([frag.pk], why="school", by=grower)
    aside.release_frags([frag.pk], by=grower)
    stop = StopSale.objects.create(
        variety=frag.variety,
        reason="pest",
        ends_when="clean",
        since=today(),
        by=manager,
        made_at=clock.now(),
    )
    with refused("a stop-sale holds for it", error=Conflict):
        give_frags([frag.pk], why="school", by=grower)
    StopSale.objects.filter(pk=stop.pk).delete()
    assert frag.colony is not None
    bar_colony(frag.colony, because="on loan", by=manager)
    with refused("barred from sale and gifts", error=Conflict):
        give_frags([frag.pk], why="school", by=grower)
    assert not FragEvent.objects.filter(kind="given").exists()
