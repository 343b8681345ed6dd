"""Frags that part, are cut again, and grow together."""

from datetime import timedelta

import pytest
from django.db import connection
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions import aside, grading, looks, losses, moving
from fraginv.stock.actions.arrivals import Incoming, Papers, receive_pieces
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.claims import hold_frag, take_for_sale
from fraginv.stock.actions.parts import join_frags, recut_frag, split_frag
from fraginv.stock.actions.stops import start_stop
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.holds import ClaimKind
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.refusing import refused

NAMED = ClaimKind.NAMED


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


def living_pieces() -> int:
    return sum(Frag.objects.values_list("pieces", flat=True))


def test_pieces_leave_a_lot_for_codes_of_their_own(grower: Person) -> None:
    lot, rack = make_lot(grower, 30), make_rack(grower)
    moving.place_frags([lot.pk], rack=rack, row=2, column=3, by=grower)
    grading.grade_frags([lot.pk], size="M", heads=3, by=grower)
    parts = split_frag(lot.pk, pieces=3, by=grower)
    assert fresh(lot).pieces == fresh(lot).free == 27
    assert len({part.code_id for part in parts} | {lot.code_id}) == 4
    for part in map(fresh, parts):
        assert (part.pieces, part.free, part.is_lot) == (1, 1, False)
        assert (part.split_from, part.colony, part.cutting) == (lot, lot.colony, lot.cutting)
        assert (part.stage, part.size, part.heads, part.ready_on) == ("ready", "M", 3, today())
        assert (part.rack, part.hole_row, part.cut_on) == (rack, None, lot.cut_on)
        assert (part.heal_by, part.likely_on) == (lot.heal_by, lot.likely_on)
    told = FragEvent.objects.get(frag=lot, kind="split")
    assert told.body == {"pieces": 3, "into": [part.pk for part in parts]}
    assert {event.body["from"] for event in FragEvent.objects.filter(frag__in=parts)} == {lot.pk}
    assert living_pieces() == 30
    assert not list(stock_differences())


def test_a_part_of_a_lot_is_a_lot_with_one_code(grower: Person) -> None:
    lot = make_lot(grower, 10)
    (part,) = split_frag(lot.pk, pieces=4, each=False, by=grower)
    assert (part.pieces, part.is_lot, fresh(lot).pieces) == (4, True, 6)
    assert not list(stock_differences())


def test_a_part_takes_a_blank_label(grower: Person) -> None:
    lot, labels = make_lot(grower, 5), issue_blank_run(4)
    parts = split_frag(lot.pk, pieces=2, first_code=show_code(labels[1].code), by=grower)
    assert [part.code_id for part in parts] == [labels[1].code, labels[2].code]
    with refused("is in use already", error=Conflict):
        split_frag(lot.pk, pieces=2, first_code=labels[0].code, by=grower)
    assert fresh(lot).pieces == 3
    assert not list(stock_differences())


def test_a_part_stands_as_its_lot_stood(grower: Person) -> None:
    lot, rack = make_lot(grower, 8), make_rack(grower, quarantine=True)
    aside.quarantine_frags([lot.pk], rack=rack, by=grower)
    aside.keep_back([lot.pk], kept=True, by=grower)
    looks.mark_seen([lot.pk], by=grower)
    looks.mark_wrong([lot.pk], wrong="algae", by=grower)
    looks.mark_seen([lot.pk], by=grower)
    with clock.at(clock.now() + timedelta(days=5)):
        looks.mark_seen([lot.pk], by=grower)
        (part,) = split_frag(lot.pk, pieces=1, by=grower)
        now, whole = fresh(part), fresh(lot)
        marks = ("apart", "quarantined", "quarantined_on", "clean_checks", "checked_on", "wrong")
        assert {name: getattr(now, name) for name in marks} == {
            name: getattr(whole, name) for name in marks
        }
        assert now.clean_checks == 1
        assert now.quarantined_on == today() - timedelta(days=5)
        assert not list(stock_differences())


def test_what_is_held_stays_in_the_lot(grower: Person, seller: Person) -> None:
    lot = make_lot(grower, 5, ready=True)
    hold_frag(lot.pk, pieces=3, kind=NAMED, for_name="Ida Byrne", by=seller)
    with refused(r"2 free of 5: Ida Byrne has 3 until .*stays where it is", error=Conflict):
        split_frag(lot.pk, pieces=3, by=seller)
    with refused("somebody has 3 until", error=Conflict):
        split_frag(lot.pk, pieces=3, by=grower)
    split_frag(lot.pk, pieces=2, by=grower)
    assert (fresh(lot).pieces, fresh(lot).free) == (3, 0)
    assert not list(stock_differences())


def test_a_hold_that_ran_out_holds_nothing_back(grower: Person, seller: Person) -> None:
    lot = make_lot(grower, 5, ready=True)
    hold_frag(lot.pk, pieces=4, kind=ClaimKind.WALK, for_name="Ida", by=seller)
    with clock.at(clock.now() + timedelta(hours=1)):
        split_frag(lot.pk, pieces=3, by=grower)
    assert (fresh(lot).pieces, fresh(lot).free) == (2, 2)
    assert not list(stock_differences())


@pytest.mark.parametrize("pieces", [0, -1, 5, 6, 10_000])
def test_not_more_leave_than_are_there(grower: Person, pieces: int) -> None:
    lot = make_lot(grower, 5)
    with refused("has 5 living pieces; from 1 to 4 can leave it", error=InputError):
        split_frag(lot.pk, pieces=pieces, by=grower)
    assert Frag.objects.count() == 1
    assert FragEvent.objects.filter(kind="split").count() == 0


def test_one_piece_is_not_split_and_what_is_gone_neither(grower: Person, seller: Person) -> None:
    frag = make_frag(grower, ready=True)
    with refused("is one piece. To make several of it, cut it again", error=InputError):
        split_frag(frag.pk, pieces=1, by=grower)
    take_for_sale(frag.pk, pieces=1, by=seller)
    with refused("does not live here any more: it is sold", error=Conflict):
        split_frag(frag.pk, pieces=1, by=grower)
    with refused("does not live here any more", error=Conflict):
        recut_frag(frag.pk, into=2, by=grower)


@pytest.mark.usefixtures("frozen")
def test_one_cut_again_becomes_several_that_heal_anew(grower: Person) -> None:
    frag = make_frag(grower, ready=True)
    rack = make_rack(grower)
    moving.place_frags([frag.pk], rack=rack, row=1, column=1, by=grower)
    with clock.at(clock.now() + timedelta(days=100)):
        parts = recut_frag(frag.pk, into=3, medium="tile", by=grower)
        now = fresh(frag)
        assert (now.stage, now.pieces, now.size, now.ready_on) == ("healing", 1, "", None)
        assert (now.hole_row, now.medium, now.cut_on) == (1, "plug", frag.cut_on)
        # 14 days to heal, 60 until an SPS is likely ready: common practice, no source.
        assert now.heal_by == today() + timedelta(days=14)
        assert now.likely_on == today() + timedelta(days=60)
        for part in map(fresh, parts):
            assert (part.stage, part.pieces, part.medium) == ("healing", 1, "tile")
            assert (part.cut_on, part.cutting, part.split_from) == (today(), None, frag)
            assert (part.rack, part.hole_row, part.heal_by) == (rack, None, now.heal_by)
        assert living_pieces() == 3
        assert not list(stock_differences())


def test_what_cannot_be_cut_again(grower: Person, seller: Person, manager: Person) -> None:
    lot = make_lot(grower, 4)
    with refused("has 4 living pieces. Split off the one", error=InputError):
        recut_frag(lot.pk, into=2, by=grower)
    frag = make_frag(grower, ready=True)
    for into in (1, 0, -3, 51):
        with refused(f"{into} pieces: one piece cut again makes", error=InputError):
            recut_frag(frag.pk, into=into, by=grower)
    with refused("frags stand on one of", error=InputError):
        recut_frag(frag.pk, into=2, medium="rock", by=grower)
    hold = hold_frag(frag.pk, pieces=1, kind=NAMED, for_name="Ida", by=seller)
    with refused("0 free of 1", error=Conflict):
        recut_frag(frag.pk, into=2, by=grower)
    assert hold.frag_id == frag.pk
    barred = make_frag(grower)
    assert barred.colony is not None
    bar_colony(barred.colony, because="on loan", by=manager)
    with refused("barred from cutting: on loan", error=Conflict):
        recut_frag(barred.pk, into=2, by=grower)
    assert not FragEvent.objects.filter(kind="split").exists()


def test_two_grown_together_are_one(grower: Person) -> None:
    one, other = make_frags(grower, 2)
    rack = make_rack(grower)
    moving.place_frags([other.pk], rack=rack, row=1, column=1, by=grower)
    join_frags(one.pk, other_ids=[other.pk], by=grower)
    assert (fresh(one).pieces, fresh(other).pieces, fresh(other).stage) == (1, 0, "joined")
    assert fresh(other).ended_on == today()
    moving.place_frags([one.pk], rack=rack, row=1, column=1, by=grower)
    kept = FragEvent.objects.get(frag=one, kind="joined").body
    gone = FragEvent.objects.get(frag=other, kind="joined").body
    assert kept == {"with": other.pk, "pieces": 0}
    assert gone == {"into": one.pk, "pieces": 1}
    assert not list(stock_differences())
    with refused("does not live here any more: it is joined", error=Conflict):
        join_frags(other.pk, other_ids=[one.pk], by=grower)


def test_lots_become_one_with_all_their_pieces(grower: Person) -> None:
    colony = make_colony(grower)
    lots = [make_lot(grower, pieces, colony=colony) for pieces in (10, 5, 7)]
    single = make_frag(grower, colony=colony)
    others = [lots[2].pk, lots[1].pk, single.pk]
    assert join_frags(lots[0].pk, other_ids=others, by=grower).pieces == 23
    assert living_pieces() == 23
    assert not list(stock_differences())


def test_what_is_not_alike_does_not_become_one(
    grower: Person, seller: Person, manager: Person
) -> None:
    one = make_colony(grower)
    lot, lot2 = make_lot(grower, 4, colony=one), make_lot(grower, 4, colony=one)
    stranger = make_lot(grower, 4)
    with refused("Only pieces of one variety can be one", error=Conflict):
        join_frags(lot.pk, other_ids=[stranger.pk], by=grower)
    grading.grade_frags([lot2.pk], size="S", by=grower)
    with refused("is healing, .* is ready, size S. One lot holds alike pieces", error=Conflict):
        join_frags(lot.pk, other_ids=[lot2.pk], by=grower)
    grading.grade_frags([lot.pk], size="S", by=grower)
    hold = hold_frag(lot2.pk, pieces=1, kind=NAMED, for_name="Ida Byrne", by=seller)
    with refused("3 free of 4: somebody has 1", error=Conflict):
        join_frags(lot.pk, other_ids=[lot2.pk], by=grower)
    with refused("Ida Byrne has 1", error=Conflict):
        join_frags(lot.pk, other_ids=[lot2.pk], by=manager)
    assert join_frags(lot2.pk, other_ids=[lot.pk], by=grower).free == 7
    assert hold.ended_at is None
    aside.set_apart([lot2.pk], by=grower)
    piece = make_frag(grower, colony=one)
    with refused("set apart or in quarantine, the other is not", error=Conflict):
        join_frags(lot2.pk, other_ids=[piece.pk], by=grower)
    assert not list(stock_differences())


def test_one_code_tells_of_one_source(grower: Person) -> None:
    variety = make_variety(grower)
    one, other = (make_frag(grower, colony=make_colony(grower, variety=variety)) for _ in range(2))
    with refused("do not come from one colony", error=Conflict):
        join_frags(one.pk, other_ids=[other.pk], by=grower)
    racks = [make_rack(grower, quarantine=True), make_rack(grower)]
    came = [
        receive_pieces(
            [Incoming(variety, 1)], rack=racks[0], by=grower, papers=Papers(permit=permit)
        ).frags.get()
        for permit in ("P-1", "P-2")
    ]
    with refused("do not come from one colony", error=Conflict):
        join_frags(came[0].pk, other_ids=[came[1].pk], by=grower)


def test_what_a_stop_sale_holds_for_does_not_slip_into_another(grower: Person) -> None:
    one, other = make_frags(grower, 2)
    rack = make_rack(grower)
    moving.place_frags([other.pk], rack=rack, by=grower)
    start_stop(rack.trough, reason="flatworms", ends_when="clean", by=grower)
    for first, second in ((one, other), (other, one)):
        with refused(f"A stop-sale holds for {show_code(other.code_id)}", error=Conflict):
            join_frags(first.pk, other_ids=[second.pk], by=grower)


def test_in_quarantine_the_harder_stay_goes_on(grower: Person) -> None:
    first, second = make_frags(grower, 2)
    rack = make_rack(grower, quarantine=True)
    aside.quarantine_frags([first.pk], rack=rack, by=grower)
    with clock.at(clock.now() + timedelta(days=3)):
        looks.mark_seen([first.pk], by=grower)
        aside.quarantine_frags([second.pk], rack=rack, by=grower)
        join_frags(first.pk, other_ids=[second.pk], by=grower)
        now = fresh(first)
        stay = (now.quarantined_on, now.clean_checks, now.checked_on)
        assert stay == (today(), 0, today())
        assert not list(stock_differences())


def test_joining_needs_another(grower: Person) -> None:
    frag, lot = make_frag(grower), make_lot(grower, 4)
    for others in ([], [frag.pk]):
        with refused("Choose from 1 to 20 other frags", error=InputError):
            join_frags(frag.pk, other_ids=others, by=grower)
    same = make_lot(grower, 3, colony=lot.colony)
    one = make_frag(grower, colony=lot.colony)
    with refused("Open the lot and take it in there", error=Conflict):
        join_frags(one.pk, other_ids=[same.pk], by=grower)


def test_parting_asks_few_questions(
    grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    lot = make_lot(grower, 40)
    tries = 14 if connection.vendor == "postgresql" else 17
    with django_assert_max_num_queries(tries):
        split_frag(lot.pk, pieces=30, by=grower)
    with django_assert_max_num_queries(tries):
        recut_frag(Frag.objects.filter(split_from=lot)[0].pk, into=5, by=grower)
    one, other = make_frags(grower, 2)
    with django_assert_max_num_queries(16):
        join_frags(one.pk, other_ids=[other.pk], by=grower)


def test_losing_the_last_piece_after_a_split_ends_the_lot(grower: Person) -> None:
    lot = make_lot(grower, 3)
    split_frag(lot.pk, pieces=2, by=grower)
    losses.record_loss(lot.pk, pieces=1, cause="unknown", by=grower)
    assert (fresh(lot).stage, living_pieces()) == ("lost", 2)
    assert not list(stock_differences())
