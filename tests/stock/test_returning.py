"""What comes back stands where it stood, as far as it can; nobody is refused for a place."""

from collections.abc import Callable

import pytest

from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.stock.actions import arranging, aside, catalogue, counting, losses, moving, racks
from fraginv.stock.actions.leaving import bring_back, offer_whole, record_death
from fraginv.stock.actions.stops import end_stop, start_stop
from fraginv.stock.models import Colony, Frag, Rack
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.moves import Moved
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack
from tests.refusing import refused

Place = tuple[int | None, int | None, int | None]
Change = Callable[[Rack, Person], object]


def place_of(frag: Frag) -> Place:
    assert list(stock_differences()) == []
    now = Frag.objects.get(pk=frag.pk)
    return now.rack_id, now.hole_row, now.hole_column


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower)


def withdraw(rack: Rack, by: Person) -> None:
    arranging.withdraw_rack(rack.pk, by=by)


def to_quarantine(rack: Rack, by: Person) -> None:
    racks.move_rack(rack.pk, trough=make_rack(by, quarantine=True).trough, by=by)


GONE: dict[str, Change] = {"withdrawn": withdraw, "in quarantine": to_quarantine}


@pytest.mark.parametrize("change", GONE.values(), ids=GONE)
def test_a_loss_is_taken_back_though_its_rack_is_gone(
    grower: Person, rack: Rack, change: Change
) -> None:
    frag = make_frag(grower)
    moving.move_frag(frag.pk, rack=rack, row=2, column=3, by=grower)
    loss = losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    change(rack, grower)
    assert losses.undo_losses([loss.pk], by=grower) == Moved(1, no_place=(frag.code_id,))
    assert place_of(frag) == (None, None, None)
    assert Frag.objects.get(pk=frag.pk).pieces == 1


def test_a_loss_is_taken_back_though_its_hole_is_gone(grower: Person, rack: Rack) -> None:
    outside, inside = make_frags(grower, 2)
    moving.move_frag(outside.pk, rack=rack, row=6, column=1, by=grower)
    moving.move_frag(inside.pk, rack=rack, row=1, column=5, by=grower)
    gone = [
        losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower).pk
        for frag in (outside, inside)
    ]
    arranging.change_rack(rack.pk, name=rack.name, rows=5, columns=5, by=grower)
    assert losses.undo_losses(gone, by=grower) == Moved(2, no_hole=(outside.code_id,))
    assert place_of(outside) == (rack.pk, None, None)
    assert place_of(inside) == (rack.pk, 1, 5)


@pytest.mark.parametrize("quarantine", [True, False], ids=["another quarantine", "the display"])
def test_what_was_lost_in_quarantine_stays_out_of_other_water(
    grower: Person, quarantine: bool
) -> None:
    rack, frag = make_rack(grower, quarantine=True), make_frag(grower)
    aside.quarantine_frags([frag.pk], rack=rack, by=grower)
    loss = losses.record_loss(frag.pk, pieces=1, cause="pest", by=grower)
    system = catalogue.add_system("Far", quarantine=quarantine, by=grower)
    racks.move_rack(rack.pk, trough=catalogue.add_trough(system, name="A", by=grower), by=grower)
    losses.undo_loss(loss.pk, by=grower)
    assert place_of(frag) == (None, None, None)
    assert Frag.objects.get(pk=frag.pk).quarantined


def test_a_rack_that_was_carried_within_its_water_is_where_it_stands(
    grower: Person, rack: Rack
) -> None:
    frag = make_frag(grower)
    moving.move_frag(frag.pk, rack=rack, row=1, column=1, by=grower)
    loss = losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    other = catalogue.add_trough(rack.trough.system, name="B", by=grower)
    racks.move_rack(rack.pk, trough=other, by=grower)
    assert losses.undo_loss(loss.pk, by=grower) == Moved(1)
    assert place_of(frag) == (rack.pk, 1, 1)


def test_what_had_no_place_before_lost_none(grower: Person) -> None:
    frag = make_frag(grower)
    loss = losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    assert losses.undo_loss(loss.pk, by=grower) == Moved(1)


def test_pieces_of_a_lot_go_back_to_where_the_lot_stands_now(grower: Person, rack: Rack) -> None:
    lot = make_lot(grower, 5)
    moving.move_frag(lot.pk, rack=rack, by=grower)
    loss = losses.record_loss(lot.pk, pieces=2, cause="fell", by=grower)
    other = make_rack(grower)
    moving.move_frag(lot.pk, rack=other, row=1, column=1, by=grower)
    arranging.withdraw_rack(rack.pk, by=grower)
    assert losses.undo_loss(loss.pk, by=grower) == Moved(1)
    assert place_of(lot) == (other.pk, 1, 1)


def test_what_is_found_is_not_put_where_nothing_may_stand(grower: Person, rack: Rack) -> None:
    frag = make_frag(grower)
    losses.record_loss(frag.pk, pieces=1, cause="unknown", by=grower)
    arranging.withdraw_rack(rack.pk, by=grower)
    with refused("is out of use. Choose another rack", error=Conflict):
        counting.found_again(frag.pk, rack=rack, by=grower)
    with refused("is quarantine. To put", error=Conflict):
        counting.found_again(frag.pk, rack=make_rack(grower, quarantine=True), by=grower)
    assert Frag.objects.get(pk=frag.pk).pieces == 0
    assert counting.found_again(frag.pk, by=grower) == Moved(1, no_place=(frag.code_id,))
    assert place_of(frag) == (None, None, None)


def test_what_is_found_again_came_out_of_the_water_in_which_it_was_lost(
    grower: Person, manager: Person, rack: Rack
) -> None:
    """Its rack was carried since: out of stopped water, or into water that is stopped now."""
    stopped, far = rack.trough, catalogue.add_trough(rack.trough.system, name="Far", by=grower)
    beside = catalogue.add_rack(far, name="beside", rows=2, columns=2, by=grower)
    frags = make_frags(grower, 3)
    moving.fill_holes([frag.pk for frag in frags], rack=rack, by=grower)
    stop = start_stop(stopped, reason="flatworms", ends_when="three clean checks", by=grower)
    losses.undo_loss(
        losses.record_loss(frags[0].pk, pieces=1, cause="fell", by=grower).pk, by=grower
    )
    for frag in frags:
        losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    racks.move_rack(rack.pk, trough=far, by=grower)
    assert counting.found_again(frags[0].pk, rack=beside, by=grower).apart == 1
    assert counting.found_again(frags[1].pk, by=grower).apart == 1
    end_stop(stop.pk, because="clean three times", by=manager)
    clean = make_frag(grower)
    moving.place_frags([clean.pk], rack=rack, by=grower)
    losses.record_loss(clean.pk, pieces=1, cause="fell", by=grower)
    start_stop(stopped, reason="flatworms", ends_when="three clean checks", by=grower)
    racks.move_rack(rack.pk, trough=stopped, by=grower)
    assert counting.found_again(clean.pk, rack=beside, by=grower).apart == 0


@pytest.mark.parametrize("change", GONE.values(), ids=GONE)
def test_a_colony_comes_back_though_its_rack_is_gone(
    grower: Person, rack: Rack, change: Change
) -> None:
    colony = make_colony(grower, rack=rack)
    record_death(colony.pk, cause="rtn", by=grower)
    change(rack, grower)
    assert bring_back(colony.pk, by=grower).rack is None
    assert Colony.objects.get(pk=colony.pk).rack is None


def test_a_colony_of_which_nobody_wrote_down_the_water_goes_back_into_its_rack(
    grower: Person, rack: Rack
) -> None:
    """Before its water was written down with it, only the rack was."""
    colony = make_colony(grower, rack=rack)
    record_death(colony.pk, cause="rtn", by=grower)
    event = colony.events.get(kind="died")
    del event.body["system"]
    colony.events.filter(pk=event.pk).update(body=event.body)
    assert bring_back(colony.pk, by=grower).rack == rack


def test_a_colony_that_was_offered_whole_stands_where_its_piece_was_put(
    grower: Person, rack: Rack
) -> None:
    colony = make_colony(grower, rack=rack)
    frag = offer_whole(colony.pk, by=grower)
    other = make_rack(grower)
    moving.move_frag(frag.pk, rack=other, by=grower)
    arranging.withdraw_rack(rack.pk, by=grower)
    assert bring_back(colony.pk, by=grower).rack == other
    assert Colony.objects.get(pk=colony.pk).rack == other
    assert list(stock_differences()) == []
