"""Counting a rack: kept while it lasts, settled together."""

import pytest

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions import losses, moving, racks
from fraginv.stock.actions.claims import take_for_sale
from fraginv.stock.actions.rack_counts import drop_count, keep_count, settle_count
from fraginv.stock.models import Frag, FragEvent, Loss, Rack, RackCount, RackEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.rack_counts import there_of
from fraginv.stock.rules.counts import Fate, Gap, Settled, found_in, gaps_of, say_tally
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack
from tests.refusing import refused


def fresh(frag: Frag) -> Frag:
    return Frag.objects.get(pk=frag.pk)


def consistent() -> bool:
    return [str(one) for one in stock_differences()] == []


def test_a_count_is_told_by_what_became_of_it() -> None:
    told = {"lost": 2, "still looked for": 1, "moved here": 3}
    said = "2 lost (unknown), 1 still looked for, 3 moved here"
    assert say_tally(told, cause="unknown") == said
    assert say_tally({}, cause="") == ""


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower)


@pytest.fixture
def frags(grower: Person, rack: Rack) -> list[Frag]:
    """Four frags in their holes, then a lot of ten whose hole is not known."""
    colony = make_colony(grower)
    singles = make_frags(grower, 4, colony=colony)
    moving.fill_holes([frag.pk for frag in singles], rack=rack, by=grower)
    lot = make_lot(grower, 10, colony=colony)
    moving.move_frag(lot.pk, rack=rack, by=grower)
    return [*singles, lot]


def all_there(frags: list[Frag]) -> dict[int, int]:
    return {frag.pk: frag.pieces for frag in frags}


def test_gaps_by_hand() -> None:
    """Worked by hand: 1 is missing, 2 is there, 3 is short by two, 4 has one too many."""
    expected = {1: 1, 2: 1, 3: 10, 4: 5, 5: 1}
    there = {1: 0, 2: 1, 3: 8, 4: 6, 9: 1}
    assert gaps_of(expected, there=there) == [Gap(1, 1, 0), Gap(3, 10, 8), Gap(4, 5, 6)]
    assert [gap.short for gap in gaps_of(expected, there=there)] == [1, 2, -1]
    assert found_in(expected, there=there) == 0 + 1 + 8 + 6 + 1
    fates = [gap.fates[0] for gap in gaps_of(expected, there=there)]
    assert fates == [Fate.LOOKED, Fate.LOST, Fate.FOUND]


def test_all_there_is_one_row(grower: Person, rack: Rack, frags: list[Frag]) -> None:
    events = FragEvent.objects.count()
    event = settle_count(rack.pk, there=all_there(frags), by=grower)
    assert event.body == {"expected": 14, "found": 14, "settled": {}}
    assert FragEvent.objects.count() == events
    assert Rack.objects.get(pk=rack.pk).seen_on == event.day
    assert consistent()


def test_what_is_missing_is_settled_together(grower: Person, rack: Rack, frags: list[Frag]) -> None:
    lost, looked, elsewhere, there, lot = frags
    other = make_rack(grower)
    found = all_there(frags) | {lost.pk: 0, looked.pk: 0, elsewhere.pk: 0, lot.pk: 7}
    settled = {
        lost.pk: Settled(Fate.LOST, "overflow"),
        looked.pk: Settled(Fate.LOOKED),
        elsewhere.pk: Settled(Fate.ELSEWHERE),
        lot.pk: Settled(Fate.LOST, "fell"),
    }
    event = settle_count(rack.pk, there=found, settled=settled, elsewhere=other, by=grower)
    assert event.body["settled"] == {"lost": 4, "still looked for": 1, "elsewhere": 1}
    assert (event.body["expected"], event.body["found"]) == (14, 8)
    assert fresh(lost).stage == "lost"
    assert (fresh(looked).rack, fresh(looked).pieces) == (None, 1)
    assert fresh(elsewhere).rack == other
    assert fresh(there).hole_column == 4
    assert fresh(lot).pieces == 7
    assert set(Loss.objects.values_list("cause", "pieces")) == {("overflow", 1), ("fell", 3)}
    assert consistent()


def test_what_is_too_many_comes_in(grower: Person, rack: Rack, frags: list[Frag]) -> None:
    astray, written_off = make_frags(grower, 2)
    moving.move_frag(astray.pk, rack=make_rack(grower), by=grower)
    losses.record_loss(written_off.pk, pieces=1, cause="unknown", by=grower)
    lot = frags[-1]
    found = all_there(frags) | {lot.pk: 12}
    event = settle_count(
        rack.pk,
        there=found,
        extra=[astray.pk, written_off.pk],
        settled={lot.pk: Settled(Fate.FOUND)},
        by=grower,
    )
    told = {"found": 2, "moved here": 1, "found again": 1}
    assert event.body == {"expected": 14, "found": 18, "settled": told}
    assert (fresh(astray).rack, fresh(written_off).rack) == (rack, rack)
    assert fresh(written_off).pieces == 1
    assert fresh(lot).pieces == 12
    assert consistent()


def test_more_than_a_lot_has_may_be_left(grower: Person, rack: Rack, frags: list[Frag]) -> None:
    lot = frags[-1]
    found = all_there(frags) | {lot.pk: 12}
    with refused("Say of each piece", error=InputError):
        settle_count(rack.pk, there=found, by=grower)
    settle_count(rack.pk, there=found, settled={lot.pk: Settled(Fate.LEFT)}, by=grower)
    assert fresh(lot).pieces == 10
    assert consistent()


def test_a_sold_one_is_not_counted_in(grower: Person, rack: Rack, frags: list[Frag]) -> None:
    sold = make_frag(grower, ready=True)
    take_for_sale(sold.pk, pieces=1, by=grower)
    said = f"{show_code(sold.code_id)} cannot be counted here: it is sold"
    with refused(said, error=Conflict):
        keep_count(rack.pk, there={}, extra=[sold.pk], by=grower)
    with refused(said, error=Conflict):
        settle_count(rack.pk, there=all_there(frags), extra=[sold.pk], by=grower)
    assert RackEvent.objects.count() == 0


def test_what_came_or_left_meanwhile_stays_as_it_is(
    grower: Person, rack: Rack, frags: list[Frag]
) -> None:
    found = all_there(frags) | {frags[0].pk: 0}
    moving.move_frag(frags[0].pk, rack=make_rack(grower), by=grower)
    late = make_frag(grower)
    moving.move_frag(late.pk, rack=rack, by=grower)
    event = settle_count(rack.pk, there=found, by=grower)
    assert event.body == {"expected": 14, "found": 14, "settled": {}}
    assert fresh(late).rack == rack


def test_a_cause_that_is_none_settles_nothing(
    grower: Person, rack: Rack, frags: list[Frag]
) -> None:
    found = all_there(frags) | {frags[0].pk: 0, frags[1].pk: 0}
    settled = {
        frags[0].pk: Settled(Fate.LOST),
        frags[1].pk: Settled(Fate.LOST, "boredom"),
    }
    with refused("Choose a cause", error=InputError):
        settle_count(rack.pk, there=found, settled=settled, by=grower)
    assert fresh(frags[0]).stage == "healing"
    with refused("Choose the rack", error=InputError):
        fates = dict.fromkeys((frags[0].pk, frags[1].pk), Settled(Fate.ELSEWHERE))
        settle_count(rack.pk, there=found, settled=fates, by=grower)
    assert RackEvent.objects.count() == 0


def test_half_a_count_is_kept_for_whoever_began_it(
    grower: Person, manager: Person, rack: Rack, frags: list[Frag]
) -> None:
    keep_count(rack.pk, there={frags[0].pk: 1}, by=grower)
    kept = keep_count(rack.pk, there={frags[0].pk: 1, frags[4].pk: 9}, extra=[], by=grower)
    keep_count(rack.pk, there={}, by=manager)
    now = RackCount.objects.get(pk=kept.pk)
    assert there_of(now) == {frags[0].pk: 1, frags[4].pk: 9}
    drop_count(rack.pk, by=manager)
    settle_count(rack.pk, there=all_there(frags), by=grower)
    assert not RackCount.objects.exists()


@pytest.mark.parametrize("pieces", [-1, 10_000])
def test_numbers_that_cannot_be(grower: Person, rack: Rack, frags: list[Frag], pieces: int) -> None:
    with refused("write a number from 0 to 9999", error=InputError):
        keep_count(rack.pk, there={frags[4].pk: pieces}, by=grower)


def test_a_count_is_a_look_at_a_rack_and_not_at_health(
    grower: Person, rack: Rack, frags: list[Frag]
) -> None:
    settle_count(rack.pk, there=all_there(frags), by=grower)
    racks.see_rack(rack.pk, by=grower)
    assert list(RackEvent.objects.values_list("seq", "kind")) == [(1, "counted"), (2, "seen")]
    assert consistent()
