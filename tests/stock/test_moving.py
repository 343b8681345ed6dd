"""Moving frags by one hand, whoever stands in the hole; and racks with all that stands in them."""

from collections.abc import Callable

import pytest

from fraginv.base.errors import Conflict, FraginvError, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions import aside, catalogue, moving, racks
from fraginv.stock.actions.claims import take_for_sale
from fraginv.stock.models import Frag, FragEvent, Rack, RackEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.moves import Moved
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.refusing import refused
from tests.together import together

Place = tuple[int | None, int | None, int | None]


def place_of(frag: Frag) -> Place:
    now = Frag.objects.get(pk=frag.pk)
    return now.rack_id, now.hole_row, now.hole_column


def put(frag: Frag, rack: Rack, row: int, column: int, *, by: Person) -> None:
    moving.move_frag(frag.pk, rack=rack, row=row, column=column, by=by)


def consistent() -> bool:
    return [str(one) for one in stock_differences()] == []


def test_the_rack_is_required_and_the_hole_is_not(grower: Person) -> None:
    rack, frag = make_rack(grower), make_frag(grower)
    assert moving.move_frag(frag.pk, rack=rack, by=grower) == Moved(1)
    assert place_of(frag) == (rack.pk, None, None)
    put(frag, rack, 6, 10, by=grower)
    assert place_of(frag) == (rack.pk, 6, 10)
    assert consistent()


def test_two_frags_change_places(grower: Person) -> None:
    rack, other_rack = make_rack(grower), make_rack(grower)
    one, two = make_frags(grower, 2)
    put(one, rack, 1, 2, by=grower)
    put(two, other_rack, 1, 3, by=grower)
    came = moving.move_frag(one.pk, rack=other_rack, row=1, column=3, by=grower, other="swap")
    assert came == Moved(1, 1, made_room=two.code_id, swapped=True)
    assert (place_of(one), place_of(two)) == ((other_rack.pk, 1, 3), (rack.pk, 1, 2))
    moving.move_frag(two.pk, rack=other_rack, row=1, column=3, by=grower, other="swap")
    assert (place_of(one), place_of(two)) == ((rack.pk, 1, 2), (other_rack.pk, 1, 3))
    assert consistent()


def test_neighbours_of_one_row_change_places(grower: Person) -> None:
    """Only one of the two columns differs: the other must not be lost on the way."""
    rack = make_rack(grower)
    one, two = make_frags(grower, 2)
    put(one, rack, 2, 2, by=grower)
    put(two, rack, 2, 3, by=grower)
    moving.move_frag(one.pk, rack=rack, row=2, column=3, by=grower, other="swap")
    assert (place_of(one), place_of(two)) == ((rack.pk, 2, 3), (rack.pk, 2, 2))
    assert consistent()


def test_who_was_pushed_out_stays_in_the_rack_unseen(grower: Person) -> None:
    rack = make_rack(grower)
    one, two = make_frags(grower, 2)
    put(one, rack, 1, 1, by=grower)
    came = moving.move_frag(two.pk, rack=rack, row=1, column=1, by=grower)
    assert came == Moved(1, 1, made_room=one.code_id)
    assert place_of(one) == (rack.pk, None, None)
    assert FragEvent.objects.filter(frag=one).latest("seq").body["unseen"] is True
    assert consistent()


def test_who_comes_from_nowhere_leaves_no_place_to_swap(grower: Person) -> None:
    rack = make_rack(grower)
    one, two = make_frags(grower, 2)
    put(one, rack, 1, 1, by=grower)
    came = moving.move_frag(two.pk, rack=rack, row=1, column=1, by=grower, other="swap")
    assert came == Moved(1, 1, made_room=one.code_id)
    assert (place_of(one), place_of(two)) == ((rack.pk, None, None), (rack.pk, 1, 1))


@pytest.mark.parametrize(("row", "column"), [(0, 1), (7, 1), (1, 11), (1, None), (None, 1)])
def test_holes_outside_the_grid(grower: Person, row: int | None, column: int | None) -> None:
    rack, frag = make_rack(grower), make_frag(grower)
    with refused("has 6 rows and 10 columns", error=InputError):
        moving.move_frag(frag.pk, rack=rack, row=row, column=column, by=grower)
    assert place_of(frag) == (None, None, None)


def test_what_has_left_is_not_moved(grower: Person) -> None:
    rack, frag = make_rack(grower), make_frag(grower, ready=True)
    take_for_sale(frag.pk, pieces=1, by=grower)
    said = f"{show_code(frag.code_id)} does not stand here any more: it is sold"
    with refused(said, error=Conflict):
        moving.move_frag(frag.pk, rack=rack, by=grower)


def test_quarantine_and_other_water_stay_apart(grower: Person) -> None:
    rack, quarantine = make_rack(grower), make_rack(grower, quarantine=True)
    frag = make_frag(grower)
    with refused("To put .* there, quarantine it", error=Conflict):
        moving.move_frag(frag.pk, rack=quarantine, by=grower)
    aside.quarantine_frags([frag.pk], rack=quarantine, by=grower)
    with refused("Release it before it goes to", error=Conflict):
        moving.move_frag(frag.pk, rack=rack, by=grower)
    assert place_of(frag)[0] == quarantine.pk


def test_holes_are_filled_as_one_reads_them(grower: Person) -> None:
    rack = make_rack(grower, rows=2, columns=3)
    frags = make_frags(grower, 7)
    put(frags[6], rack, 1, 2, by=grower)
    order = [frags[3].pk, frags[0].pk, frags[1].pk, frags[2].pk, frags[4].pk, frags[5].pk]
    assert moving.fill_holes(order, rack=rack, by=grower) == Moved(6, 5)
    holes = [place_of(Frag.objects.get(pk=pk))[1:] for pk in order]
    assert holes == [(1, 1), (1, 3), (2, 1), (2, 2), (2, 3), (None, None)]
    assert consistent()


def test_a_turned_rack_is_filled_from_where_one_stands(grower: Person) -> None:
    rack = make_rack(grower, rows=2, columns=2)
    racks.turn_rack(rack.pk, by=grower)
    frag = make_frag(grower)
    moving.fill_holes([frag.pk], rack=Rack.objects.get(pk=rack.pk), by=grower)
    assert place_of(frag) == (rack.pk, 2, 2)
    assert consistent()


def test_emptying_keeps_the_holes_that_fit_and_are_free(grower: Person) -> None:
    rack, small = make_rack(grower), make_rack(grower, rows=2, columns=2)
    fits, taken, outside, unknown, there = make_frags(grower, 5)
    for frag, row, column in [(fits, 1, 1), (taken, 1, 2), (outside, 5, 9)]:
        put(frag, rack, row, column, by=grower)
    moving.move_frag(unknown.pk, rack=rack, by=grower)
    put(there, small, 1, 2, by=grower)
    assert racks.empty_rack(rack.pk, into=small, by=grower) == Moved(4, 1)
    assert place_of(fits) == (small.pk, 1, 1)
    assert {place_of(frag) for frag in (taken, outside, unknown)} == {(small.pk, None, None)}
    event = RackEvent.objects.get(rack=rack)
    assert (event.kind, event.body) == ("emptied", {"into": small.pk, "frags": 4})
    with refused("Nothing stands in", error=InputError):
        racks.empty_rack(rack.pk, into=small, by=grower)
    with refused("Choose another rack", error=InputError):
        racks.empty_rack(small.pk, into=small, by=grower)
    assert consistent()


def test_a_rack_is_moved_whole_in_one_row(grower: Person) -> None:
    rack = make_rack(grower)
    frags = make_frags(grower, 3)
    moving.place_frags([frag.pk for frag in frags], rack=rack, by=grower)
    events = FragEvent.objects.count()
    trough = catalogue.add_trough(rack.trough.system, name="B", by=grower)
    racks.move_rack(rack.pk, trough=trough, by=grower)
    assert Rack.objects.get(pk=rack.pk).trough == trough
    assert FragEvent.objects.count() == events
    assert RackEvent.objects.get().body == {"from": rack.trough_id, "to": trough.pk}
    assert consistent()
    with refused("stands in B already", error=InputError):
        racks.move_rack(rack.pk, trough=trough, by=grower)


def test_a_name_that_the_other_trough_has(grower: Person) -> None:
    rack = make_rack(grower, name="Left")
    trough = catalogue.add_trough(rack.trough.system, name="B", by=grower)
    catalogue.add_rack(trough, name="left", rows=2, columns=2, by=grower)
    with refused("has a rack Left already", error=Conflict):
        racks.move_rack(rack.pk, trough=trough, by=grower)


@pytest.mark.parametrize("what", ["frag", "colony", "nothing"])
def test_only_an_empty_rack_goes_into_quarantine(grower: Person, what: str) -> None:
    rack = make_rack(grower)
    trough = make_rack(grower, quarantine=True).trough
    if what == "frag":
        moving.place_frags([make_frag(grower).pk], rack=rack, by=grower)
    if what == "colony":
        make_colony(grower, rack=rack)
    if what == "nothing":
        racks.move_rack(rack.pk, trough=trough, by=grower)
        assert Rack.objects.get(pk=rack.pk).trough == trough
        return
    with refused("only an empty rack is carried", error=Conflict):
        racks.move_rack(rack.pk, trough=trough, by=grower)


SHIFTS: dict[str, Callable[[Rack, Person], object]] = {
    "moved": lambda rack, by: racks.move_rack(
        rack.pk, trough=catalogue.add_trough(rack.trough.system, name="C", by=by), by=by
    ),
    "turned": lambda rack, by: racks.turn_rack(rack.pk, by=by),
}


@pytest.mark.parametrize("shift", SHIFTS.values(), ids=SHIFTS)
def test_whoever_read_the_rack_before_is_told(
    grower: Person, shift: Callable[[Rack, Person], object]
) -> None:
    rack = make_rack(grower)
    trough = catalogue.add_trough(rack.trough.system, name="B", by=grower)
    shift(rack, grower)
    with refused("Test grower has just (moved|turned)", error=Conflict):
        racks.move_rack(rack.pk, trough=trough, by=grower, seq=0)
    racks.move_rack(rack.pk, trough=trough, by=grower, seq=1)


def test_a_look_in_between_is_no_reason_to_refuse(grower: Person) -> None:
    rack = make_rack(grower)
    racks.see_rack(rack.pk, by=grower)
    racks.turn_rack(rack.pk, by=grower, seq=0)
    assert Rack.objects.get(pk=rack.pk).turned is True
    assert consistent()


@pytest.mark.django_db(transaction=True)
def test_two_people_move_one_rack_at_once(grower: Person) -> None:
    rack = make_rack(grower)
    troughs = [catalogue.add_trough(rack.trough.system, name=name, by=grower) for name in "BC"]
    came = together(
        lambda trough: racks.move_rack(rack.pk, trough=trough, by=grower, seq=0), on=troughs
    )
    refusals = [one for one in came if isinstance(one, FraginvError)]
    assert len(refusals) == 1
    assert "just" in refusals[0].message
    assert RackEvent.objects.count() == 1
    assert consistent()


@pytest.mark.django_db(transaction=True)
def test_two_people_put_two_frags_into_one_hole_at_once(grower: Person) -> None:
    rack = make_rack(grower)
    frags = make_frags(grower, 2)
    together(lambda frag: put(frag, rack, 3, 3, by=grower), on=frags)
    there = [place_of(frag) for frag in frags]
    assert (rack.pk, 3, 3) in there
    assert len(set(there)) == 2
    assert consistent()
