"""Whoever moves a piece out of water under a stop-sale does not end it for that piece."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.stock.actions import aside, catalogue, counting, losses, moving, racks
from fraginv.stock.actions.claims import take_back, take_for_sale
from fraginv.stock.actions.colonies import change_colony
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.actions.rack_counts import settle_count
from fraginv.stock.actions.stops import end_stop, start_stop
from fraginv.stock.models import Frag, FragEvent, Rack, RackEvent, System, Trough
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import frags_with, not_for_sale
from fraginv.stock.rules.counts import Fate, Settled
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.refusing import refused

SAID = "came out of stopped water: flatworms"


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower)


@pytest.fixture
def far(grower: Person, rack: Rack) -> Rack:
    """Return a rack of another trough in the same system."""
    trough = catalogue.add_trough(rack.trough.system, name="Far", by=grower)
    return catalogue.add_rack(trough, name="far rack", rows=6, columns=10, by=grower)


@pytest.fixture
def frags(grower: Person, rack: Rack) -> list[Frag]:
    """Return three frags that are ready, in holes of the rack."""
    made = make_frags(grower, 3, ready=True)
    moving.fill_holes([frag.pk for frag in made], rack=rack, by=grower)
    return made


def stop(what: Trough, by: Person) -> int:
    return start_stop(what, reason="flatworms", ends_when="three clean checks", by=by).pk


def ids(frags: list[Frag]) -> list[int]:
    return [frag.pk for frag in frags]


def apart() -> set[int]:
    assert list(stock_differences()) == []
    return set(Frag.objects.filter(apart=True).values_list("pk", flat=True))


def reasons() -> list[str]:
    events = FragEvent.objects.filter(kind="set apart").order_by("pk")
    return [body["reason"] for body in events.values_list("body", flat=True)]


Way = Callable[[list[Frag], Rack, Person], int]


def one_by_one(frags: list[Frag], into: Rack, by: Person) -> int:
    return sum(moving.move_frag(frag.pk, rack=into, by=by).apart for frag in frags)


def counted_elsewhere(frags: list[Frag], into: Rack, by: Person) -> int:
    return count(frags, Fate.ELSEWHERE, into, by)


def looked_for(frags: list[Frag], into: Rack, by: Person) -> int:
    return count(frags, Fate.LOOKED, None, by)


def count(frags: list[Frag], fate: Fate, into: Rack | None, by: Person) -> int:
    rack = Frag.objects.get(pk=frags[0].pk).rack
    assert rack is not None
    there, settled = dict.fromkeys(ids(frags), 0), dict.fromkeys(ids(frags), Settled(fate))
    event = settle_count(rack.pk, there=there, settled=settled, elsewhere=into, by=by)
    return int(event.body.get("apart", 0))


def counted_there(frags: list[Frag], into: Rack, by: Person) -> int:
    event = settle_count(into.pk, there={}, extra=ids(frags), by=by)
    return int(event.body["apart"])


def emptied(frags: list[Frag], into: Rack, by: Person) -> int:
    (rack,) = {Frag.objects.get(pk=frag.pk).rack_id for frag in frags}
    moved = racks.empty_rack(rack or 0, into=into, by=by)
    assert RackEvent.objects.get(kind="emptied").body["apart"] == moved.apart
    return moved.apart


def whole_rack(frags: list[Frag], into: Rack, by: Person) -> int:
    (rack,) = {Frag.objects.get(pk=frag.pk).rack_id for frag in frags}
    event = racks.move_rack(rack or 0, trough=into.trough, by=by)
    return int(event.body["apart"])


WAYS: dict[str, Way] = {
    "placed": lambda frags, into, by: moving.place_frags(ids(frags), rack=into, by=by).apart,
    "one by one": one_by_one,
    "into holes": lambda frags, into, by: moving.fill_holes(ids(frags), rack=into, by=by).apart,
    "emptied": emptied,
    "whole rack": whole_rack,
    "counted as elsewhere": counted_elsewhere,
    "counted there": counted_there,
    "still looked for": looked_for,
}


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
def test_what_comes_out_is_set_apart(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack, way: Way
) -> None:
    stop(rack.trough, grower)
    assert way(frags, far, grower) == 3
    assert apart() == set(ids(frags))
    assert reasons() == [SAID] * 3
    (now,) = frags_with([frags[0].pk])
    assert not_for_sale(now) == "it is set apart"


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
def test_what_is_apart_already_is_told_of_this_too(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack, way: Way
) -> None:
    aside.set_apart([frags[0].pk], by=grower, reason="stung")
    stop(rack.trough, grower)
    assert way(frags, far, grower) == 3
    assert apart() == set(ids(frags))
    assert reasons() == ["stung", SAID, SAID, SAID]


def test_a_stop_of_the_system_goes_along_within_it(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    start_stop(rack.trough.system, reason="a treatment", ends_when="a change", by=grower)
    assert moving.place_frags(ids(frags), rack=far, by=grower).apart == 0
    assert apart() == set()
    system = catalogue.add_system("Other reef", by=grower)
    trough = catalogue.add_trough(system, name="A", by=grower)
    other = catalogue.add_rack(trough, name="other", rows=2, columns=2, by=grower)
    assert moving.place_frags(ids(frags), rack=other, by=grower).apart == 3


def test_nothing_is_set_apart_where_no_stop_is_left(
    grower: Person, manager: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    end_stop(stop(rack.trough, grower), because="clean", by=manager)
    stop(far.trough, grower)
    start_stop(frags[0].variety, reason="mixed up", ends_when="a look", by=grower)
    assert moving.place_frags(ids(frags), rack=make_rack(grower), by=grower).apart == 0
    assert moving.place_frags(ids(frags), rack=far, by=grower).apart == 0
    assert racks.move_rack(rack.pk, trough=far.trough, by=grower).body.keys() == {"from", "to"}
    assert apart() == set()


def test_who_makes_room_comes_out_of_it_too(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    there = make_frag(grower)
    moving.move_frag(there.pk, rack=far, row=2, column=2, by=grower)
    stop(far.trough, grower)
    moved = moving.move_frag(frags[0].pk, rack=far, row=2, column=2, by=grower, other="swap")
    assert (moved.made_room, moved.swapped, moved.apart) == (there.code_id, True, 1)
    assert apart() == {there.pk}


def test_who_only_loses_its_hole_stays_in_the_water(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    there = make_frag(grower)
    moving.move_frag(there.pk, rack=far, row=2, column=2, by=grower)
    stop(far.trough, grower)
    assert moving.move_frag(frags[0].pk, rack=far, row=2, column=2, by=grower).apart == 0
    assert apart() == set()


def test_what_was_lost_in_it_and_is_found_elsewhere(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    stop(rack.trough, grower)
    for frag in frags:
        losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    assert counting.found_again(frags[0].pk, rack=far, by=grower).apart == 1
    assert counting.found_again(frags[1].pk, by=grower).apart == 1
    assert counting.found_again(frags[2].pk, rack=rack, by=grower).apart == 0
    assert apart() == set(ids(frags[:2]))


def test_a_loss_taken_back_in_a_rack_that_came_out_of_it(
    grower: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    stop(rack.trough, grower)
    loss = losses.record_loss(frags[0].pk, pieces=1, cause="fell", by=grower)
    racks.move_rack(rack.pk, trough=far.trough, by=grower)
    assert losses.undo_loss(loss.pk, by=grower).apart == 1
    assert Frag.objects.get(pk=frags[0].pk).rack == rack
    assert apart() == set(ids(frags))


def test_a_move_asks_once_however_many_move(grower: Person, far: Rack, rack: Rack) -> None:
    """One statement more where water changes, none where it does not, 1 for each frag as ever."""
    few, many = make_frags(grower, 2), make_frags(grower, 12)
    both = ids(few + many)
    moving.place_frags(both, rack=rack, by=grower)
    beside = make_rack(grower)
    asked = []
    for some, into in [(few, beside), (few, far), (many, far)]:
        with CaptureQueriesContext(connection) as context:
            moving.place_frags(ids(some), rack=into, by=grower)
        asked.append(len(context) - len(some))
    assert asked[1] == asked[0] + 1
    assert asked[2] == asked[1]


def test_a_release_does_not_end_the_stop_that_a_piece_came_out_of(
    grower: Person, manager: Person, frags: list[Frag], rack: Rack, far: Rack
) -> None:
    held = stop(rack.trough, grower)
    moving.place_frags(ids(frags), rack=far, by=grower)
    with refused("still holds in the water that they came out of: flatworms", error=Conflict):
        aside.release_frags([frags[0].pk], by=grower, despite="they look fine")
    aside.release_frags([frags[0].pk], by=manager, despite="The vet has looked.")
    end_stop(held, because="clean three times", by=manager)
    aside.release_frags(ids(frags[1:]), by=grower)
    assert apart() == set()


def test_a_colony_leaves_stopped_water_by_a_manager_with_a_reason(
    grower: Person, manager: Person, rack: Rack, far: Rack
) -> None:
    colony = make_colony(grower, rack=rack)
    stop(rack.trough, grower)
    for where in (far, None):
        with refused("A stop-sale holds where this colony stands", error=Conflict):
            change_colony(colony.pk, rack=where, despite="it must", by=grower)
    with refused("colonies stand in it", error=Conflict):
        racks.move_rack(rack.pk, trough=far.trough, by=manager)
    change_colony(colony.pk, rack=far, despite="The trough is drained.", by=manager)
    racks.move_rack(rack.pk, trough=far.trough, by=manager)


def test_what_comes_back_of_stopped_water_is_set_apart(
    grower: Person, seller: Person, frags: list[Frag], rack: Rack
) -> None:
    claim = take_for_sale(frags[0].pk, pieces=1, by=seller)
    stop(rack.trough, grower)
    take_back(claim.pk, pieces=1, alive=True, by=seller)
    assert apart() == {frags[0].pk}
    assert reasons() == [SAID]


def test_what_is_apart_is_not_kept_as_a_colony_before_it_is_released(
    grower: Person, frags: list[Frag]
) -> None:
    aside.set_apart([frags[0].pk], by=grower, reason="stung")
    with refused("is set apart. Release it before", error=Conflict):
        keep_as_colony(frags[0].pk, by=grower)


def test_a_stop_of_one_quarantine_trough_holds_for_all_its_water_and_for_what_is_nowhere(
    grower: Person, manager: Person, frags: list[Frag]
) -> None:
    tub = make_rack(grower, quarantine=True)
    system = tub.trough.system
    System.objects.filter(pk=system.pk).update(least_days=0, clean_checks=0)
    sister = catalogue.add_rack(
        catalogue.add_trough(system, name="Sister", by=grower),
        name="sister rack",
        rows=2,
        columns=2,
        by=grower,
    )
    aside.quarantine_frags(ids(frags), rack=tub, by=grower)
    moving.place_frags([frags[0].pk], rack=sister, by=grower)
    count(frags[1:2], Fate.LOOKED, None, grower)
    stop(tub.trough, grower)
    for frag in frags:
        with refused("A stop-sale holds in this quarantine", error=Conflict):
            aside.release_frags([frag.pk], by=grower)
