"""Renaming places, other grids, and taking empty ones out of use."""

import pytest

from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.words import first_named
from fraginv.stock.actions import arranging, catalogue, moving, racks
from fraginv.stock.actions.rack_counts import keep_count
from fraginv.stock.models import Rack, RackCount, RackEvent, System, Trough
from fraginv.stock.queries import places
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_colony, make_frag, make_rack
from tests.refusing import refused


def consistent() -> bool:
    return [str(one) for one in stock_differences()] == []


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower, name="Window rack")


def test_a_rack_gets_another_name_and_grid(grower: Person, rack: Rack) -> None:
    moved = make_frag(grower)
    moving.move_frag(moved.pk, rack=rack, row=4, column=5, by=grower)
    arranging.change_rack(rack.pk, name=" Sun  rack ", rows=4, columns=5, by=grower)
    now = Rack.objects.get(pk=rack.pk)
    assert (now.name, now.rows, now.columns) == ("Sun rack", 4, 5)
    assert first_named("sun", kind=places.RACK) == [rack.pk]
    assert first_named("window", kind=places.RACK) == []
    for rows, columns in [(3, 5), (4, 4)]:
        with refused("Something stands in row 4 or column 5", error=Conflict):
            arranging.change_rack(rack.pk, name="Sun rack", rows=rows, columns=columns, by=grower)
    for rows, columns in [(0, 5), (41, 5), (5, 0), (5, 41)]:
        with refused("1 to 40 rows and columns", error=InputError):
            arranging.change_rack(rack.pk, name="Sun rack", rows=rows, columns=columns, by=grower)
    make_rack(grower, name="Far rack")
    with refused("There is a rack far RACK here already", error=Conflict):
        arranging.change_rack(rack.pk, name="far RACK", rows=4, columns=5, by=grower)
    assert consistent()


def test_an_empty_rack_goes_out_of_use_and_leaves_its_name(grower: Person, rack: Rack) -> None:
    frag = make_frag(grower)
    moving.move_frag(frag.pk, rack=rack, by=grower)
    keep_count(rack.pk, there={frag.pk: 1}, by=grower)
    with refused("holds 1 frags and 0 colonies. Empty it first", error=Conflict):
        arranging.withdraw_rack(rack.pk, by=grower)
    racks.empty_rack(rack.pk, into=make_rack(grower), by=grower)
    arranging.withdraw_rack(rack.pk, by=grower)
    assert rack not in places.racks()
    assert rack in places.every_rack()
    assert not RackCount.objects.exists()
    assert first_named("window", kind=places.RACK) == []
    again = make_rack(grower, name="Window rack")
    assert again.pk != rack.pk
    gone = Rack.objects.get(pk=rack.pk)
    with refused("out of use", error=Conflict):
        moving.move_frag(frag.pk, rack=gone, by=grower)
    for act in (racks.see_rack, racks.turn_rack, arranging.withdraw_rack):
        with refused("out of use", error=Conflict):
            act(rack.pk, by=grower)
    assert consistent()


def test_a_colony_keeps_its_rack_in_use(grower: Person, rack: Rack) -> None:
    make_colony(grower, rack=rack)
    with refused("0 frags and 1 colonies", error=Conflict):
        arranging.withdraw_rack(rack.pk, by=grower)


def test_a_trough_and_what_is_in_it_are_found_by_the_other_name(grower: Person, rack: Rack) -> None:
    arranging.change_trough(rack.trough_id, name="Harbour trough", by=grower)
    assert first_named("harbour", kind=places.TROUGH) == [rack.trough_id]
    assert first_named("harbour window", kind=places.RACK) == [rack.pk]
    with refused("Racks stand in Harbour trough", error=Conflict):
        arranging.withdraw_trough(rack.trough_id, by=grower)
    arranging.withdraw_rack(rack.pk, by=grower)
    arranging.withdraw_trough(rack.trough_id, by=grower)
    with pytest.raises(NotFound):
        places.get_trough(rack.trough_id)
    assert Trough.objects.count() == 1
    assert consistent()


def test_a_system_and_its_rules(grower: Person) -> None:
    rack = make_rack(grower, quarantine=True)
    system = rack.trough.system
    arranging.change_system(
        system.pk, name="QT room", least_days=42, clean_checks=4, check_days=5, by=grower
    )
    now = System.objects.get(pk=system.pk)
    assert (now.name, now.least_days, now.clean_checks, now.check_days) == ("QT room", 42, 4, 5)
    assert first_named("qt", kind=places.RACK) == [rack.pk]
    for wrong in ({"least_days": 366}, {"clean_checks": 31}, {"check_days": 0}):
        with refused("Quarantine lasts", error=InputError):
            arranging.change_system(system.pk, name="QT room", by=grower, **wrong)
    with refused("QT room has troughs", error=Conflict):
        arranging.withdraw_system(system.pk, by=grower)
    arranging.withdraw_rack(rack.pk, by=grower)
    arranging.withdraw_trough(rack.trough_id, by=grower)
    arranging.withdraw_system(system.pk, by=grower)
    catalogue.add_system("QT room", quarantine=True, by=grower)
    assert consistent()


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("turned", True, "turned is True, its events say None"),
        ("last_seq", 7, "its last event is 1, the row says 7"),
        ("seen_on", None, "seen_on is None, its events say"),
    ],
)
def test_verify_compares_a_rack_with_its_events(
    grower: Person, rack: Rack, column: str, value: object, said: str
) -> None:
    racks.see_rack(rack.pk, by=grower)
    assert consistent()
    Rack.objects.filter(pk=rack.pk).update(**{column: value})
    told = [str(one) for one in stock_differences()]
    assert len(told) == 1
    assert said in told[0]


def test_verify_knows_where_a_rack_was_moved_and_that_an_event_is_gone(
    grower: Person, rack: Rack
) -> None:
    trough = catalogue.add_trough(rack.trough.system, name="B", by=grower)
    racks.move_rack(rack.pk, trough=trough, by=grower)
    racks.see_rack(rack.pk, by=grower)
    Rack.objects.filter(pk=rack.pk).update(trough=rack.trough_id)
    told = " ".join(str(one) for one in stock_differences())
    assert f"its trough is {rack.trough_id}, its events say {trough.pk}" in told
    RackEvent.objects.filter(rack=rack, seq=1).delete()
    assert "event 1 is missing" in " ".join(str(one) for one in stock_differences())
