"""What happens in the troughs of a kept home beside cutting and selling: a bit of everything."""

from datetime import timedelta
from decimal import Decimal

from fraginv.base import clock
from fraginv.base.queries.organisation import today
from fraginv.front.actions import Settlement, receive
from fraginv.stock.actions.arrivals import Incoming
from fraginv.stock.actions.aside import release_frags
from fraginv.stock.actions.bars import lift_bar
from fraginv.stock.actions.care import dip_frags, relabel_frag, remount_frags
from fraginv.stock.actions.catalogue import add_trough
from fraginv.stock.actions.colonies import change_colony
from fraginv.stock.actions.counting import count_lot, found_again, give_frags
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.leaving import bring_back, offer_whole, record_death
from fraginv.stock.actions.looks import mark_seen, mark_wrong
from fraginv.stock.actions.losses import LossItem, record_losses, undo_losses
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.actions.moving import fill_holes, move_frag
from fraginv.stock.actions.papers import file_paper, say_no_paper
from fraginv.stock.actions.parts import join_frags, recut_frag, split_frag
from fraginv.stock.actions.rack_counts import keep_count, settle_count
from fraginv.stock.actions.racks import empty_rack, move_rack, see_rack, turn_rack
from fraginv.stock.actions.stops import end_stop, start_stop
from fraginv.stock.actions.water import Reading, log_water, strike_entry
from fraginv.stock.models import Bar, Frag, Rack
from fraginv.stock.rules.counts import Fate, Settled
from fraginv.stock.rules.water import WaterKind
from tests.homes.house import House, picture


def grow_on(house: House) -> None:
    """Let everything happen to frags, colonies, racks and water that can."""
    change_frags(house)
    change_colonies(house)
    walk_past(house)
    watch_the_water(house)
    stop_selling(house)


def change_frags(house: House) -> None:
    """Part, join, dip, mount and label anew, lose by mistake, find, count, give."""
    by, first = house.crew["grower"], house.colonies[0]
    cutting = cut_colony(
        first.pk, pieces=8, by=by, rack=house.racks[1], tool="saw", dip="iodine, 10 min"
    )
    frags = [frag.pk for frag in cutting.frags.order_by("pk")]
    fill_holes(frags[:3], rack=house.racks[1], by=by)
    move_frag(frags[3], rack=house.racks[1], row=1, column=1, by=by, other="swap")
    move_frag(frags[4], rack=house.racks[1], row=1, column=1, by=by, other="unknown")
    recut_frag(frags[0], into=3, by=by)
    join_frags(frags[1], other_ids=[frags[2]], by=by)
    dip_frags(frags[:2], dip="iodine", by=by, again=today() + timedelta(days=7))
    remount_frags([frags[3]], medium="tile", by=by)
    relabel_frag(frags[3], by=by)
    mark_wrong([frags[4]], wrong="algae", by=by, note="round the rim")
    mark_seen([frags[5]], by=by)
    lost = record_losses([LossItem(frags[5], 1), LossItem(frags[6], 1)], cause="stung", by=by)
    undo_losses([lost.losses[0].pk], by=by)
    found_again(frags[6], by=by, rack=house.racks[1], note="under the rack")
    give_frags([frags[5]], why="school", to="Lantern School", by=by)
    assert house.lot is not None
    split_frag(house.lot.pk, pieces=2, by=by)
    left = Frag.objects.get(pk=house.lot.pk).pieces
    count_lot(house.lot.pk, pieces=left - 1, cause="eaten", by=by)
    house.frags += Frag.objects.filter(pk__in=frags).order_by("pk")


def change_colonies(house: House) -> None:
    """Keep a frag, offer a colony whole, let one die by mistake; papers, an owner, a bar lifted."""
    by, (first, second, third) = house.crew["grower"], house.colonies
    kept = keep_as_colony(house.frags[-1].pk, by=by)
    file_paper(first.pk, data=picture(7), title="Letter of gift", by=by)
    say_no_paper(second.pk, because="kept here since before the records began", by=by)
    lift_bar(Bar.objects.get(colony=third).pk, because="the loan has ended", by=house.crew["owner"])
    change_colony(third.pk, by=house.manager, most_pieces=12, rest_days=40)
    record_death(kept.pk, cause="rtn", by=by)
    bring_back(kept.pk, by=by, because="it was another one")
    keep_as_colony(offer_whole(kept.pk, by=by).pk, by=by)
    receive(
        [Incoming(second.variety, 4)],
        by=house.manager,
        rack=house.racks[2],
        supplier="Tern Island Coral Farm",
        settlement=Settlement(cost=12_000),
    )
    receive([Incoming(second.variety, 1)], by=house.manager, rack=house.racks[2])


def walk_past(house: House) -> None:
    """See racks, count one, turn one, carry one away and empty it."""
    by, rack = house.crew["grower"], house.racks[0]
    for each in house.racks:
        see_rack(each.pk, by=by)
    inside = list(Frag.objects.filter(rack=rack, pieces__gte=1).order_by("pk"))
    there = {frag.pk: frag.pieces for frag in inside}
    keep_count(rack.pk, there=there, by=by)
    there[inside[0].pk] = 0
    lost = {inside[0].pk: Settled(Fate.LOST, cause="unknown")}
    settle_count(rack.pk, there=there, settled=lost, by=by)
    turn_rack(rack.pk, by=by)
    other = add_trough(rack.trough.system, name="Short trough", by=house.manager)
    move_rack(house.racks[1].pk, trough=other, by=by)
    empty_rack(house.racks[1].pk, into=Rack.objects.get(pk=rack.pk), by=by)


def watch_the_water(house: House) -> None:
    """Measure, treat, and strike out what was mistyped."""
    by, system = house.crew["grower"], house.racks[0].trough.system
    for week, value in enumerate(("8.1", "8.4", "7.9")):
        at = clock.now() - timedelta(weeks=3 - week)
        measured = [
            Reading(WaterKind.ALKALINITY, Decimal(value)),
            Reading(WaterKind.TEMPERATURE, Decimal("25.4")),
        ]
        log_water(system, readings=measured, by=by, at=at)
    outage = Reading(WaterKind.OUTAGE, text="pump off for two hours")
    log_water(house.racks[0].trough, readings=[outage], by=by)
    (wrong,) = log_water(system, readings=[Reading(WaterKind.CALCIUM, Decimal(520))], by=by)
    strike_entry(wrong.pk, by=by)


def stop_selling(house: House) -> None:
    """Stop two sales and end one; release what was set apart."""
    by, rack = house.crew["grower"], house.racks[0]
    first = start_stop(rack.trough, reason="flatworms seen", ends_when="three clean checks", by=by)
    end_stop(first.pk, because="clean three times", by=house.manager)
    start_stop(
        house.colonies[1].variety, reason="spots on some", ends_when="the vet has looked", by=by
    )
    release_frags([house.frags[4].pk], by=by)
