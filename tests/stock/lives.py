"""A small house in which anything may be done to anything, and what an onlooker counts."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fraginv.base.models import Person
from fraginv.stock.actions import (
    arranging,
    aside,
    bars,
    care,
    claims,
    counting,
    grading,
    leaving,
    looks,
    losses,
    mothers,
    moving,
    parts,
    rack_counts,
    racks,
    stops,
)
from fraginv.stock.actions.catalogue import add_trough
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.actions.losses import LossItem
from fraginv.stock.models import Bar, Claim, Colony, Frag, FragEvent, Loss, Rack, StopSale, Trough
from fraginv.stock.rules.holds import ClaimKind
from tests.factories import make_colony, make_rack, make_variety


@dataclass
class House:
    """Two colonies, two racks with few holes and one in quarantine, and who does it all."""

    by: Person
    colonies: list[Colony] = field(default_factory=list)
    racks: list[Rack] = field(default_factory=list)
    quarantine: Rack = field(default_factory=Rack)

    def __post_init__(self) -> None:
        self.racks = [make_rack(self.by, rows=1, columns=2) for _ in range(2)]
        self.quarantine = make_rack(self.by, quarantine=True, rows=2, columns=2)
        water = self.racks[0].trough.system
        if not water.troughs.filter(name="B").exists():
            add_trough(water, name="B", by=self.by)
        for _ in range(2):
            self.colonies.append(make_colony(self.by, variety=make_variety(self.by)))


@dataclass(frozen=True)
class Pick:
    """What chance chose for one deed: a frag, another one, a number."""

    house: House
    one: int
    other: int
    number: int

    @property
    def frag(self) -> int:
        """Return the id of the frag that was chosen."""
        return self.among(self.one)

    @property
    def second(self) -> int:
        """Return the id of another frag, or the same."""
        return self.among(self.other)

    @property
    def rack(self) -> Rack:
        """Return one of the racks, most often one of the display's."""
        all_racks = [*self.house.racks, self.house.quarantine]
        return Rack.objects.select_related("trough__system").get(
            pk=all_racks[self.number % len(all_racks)].pk
        )

    @property
    def colony(self) -> Colony:
        """Return one of the colonies."""
        found = list(Colony.objects.order_by("pk"))
        return found[self.other % len(found)]

    def among(self, number: int) -> int:
        """Return the id of one of the frags that there are or were."""
        ids = list(Frag.objects.order_by("pk").values_list("pk", flat=True))
        return ids[number % len(ids)] if ids else 0

    def claim(self, kind: str) -> int:
        """Return the id of the frag's latest claim of a kind, or one that is none."""
        found = Claim.objects.filter(frag=self.frag, kind=kind).order_by("-pk").first()
        return found.pk if found else 0


Deed = Callable[[Pick, Person], object]


def hold(pick: Pick, by: Person) -> object:
    kind = ClaimKind.NAMED
    return claims.hold_frag(pick.frag, pieces=pick.number, kind=kind, by=by, for_name="A visitor")


def take_back(pick: Pick, by: Person) -> object:
    sale = pick.claim("sale")
    alive = pick.number % 2 == 1
    return sale and claims.take_back(sale, pieces=1 + pick.number % 2, alive=alive, by=by)


def undo(pick: Pick, by: Person) -> object:
    loss = Loss.objects.filter(undone=False).order_by("-pk").first()
    return loss and losses.undo_loss(loss.pk, by=by)


def lose_two(pick: Pick, by: Person) -> object:
    items = {pick.frag: LossItem(pick.frag, 1), pick.second: LossItem(pick.second, 1)}
    return losses.record_losses(items.values(), cause="bleaching", by=by)


def stop(pick: Pick, by: Person) -> object:
    holding = StopSale.objects.filter(ended_at__isnull=True).first()
    if holding is not None:
        return stops.end_stop(holding.pk, because="clean for a week", by=by)
    colony, trough = pick.colony, pick.rack.trough
    concern: list[stops.Concern] = [colony, trough, trough.system, colony.variety]
    return stops.start_stop(
        concern[pick.number % 4], reason="flatworms", ends_when="three clean checks", by=by
    )


def bar(pick: Pick, by: Person) -> object:
    holding = Bar.objects.filter(lifted_at__isnull=True).first()
    if holding is not None:
        return bars.lift_bar(holding.pk, because="released in writing", by=by)
    return bars.bar_colony(pick.colony, because="held for an authority", by=by)


def count_rack(pick: Pick, by: Person) -> object:
    rack = pick.rack
    inside = Frag.objects.filter(rack=rack, pieces__gte=1).order_by("pk")
    there = {frag.pk: frag.pieces for frag in inside[: pick.number]}
    return rack_counts.settle_count(rack.pk, there=there, extra=[pick.second], by=by)


def quarantine(pick: Pick, by: Person) -> object:
    return aside.quarantine_frags([pick.frag], rack=pick.rack, by=by, reason="spots")


def release(pick: Pick, by: Person) -> object:
    despite = "the vet saw it" if pick.number % 2 else ""
    return aside.release_frags([pick.frag], by=by, despite=despite)


def move(pick: Pick, by: Person) -> object:
    other: moving.Other = "swap" if pick.other % 2 else "unknown"
    column = 1 + pick.number % 2
    return moving.move_frag(pick.frag, rack=pick.rack, row=1, column=column, by=by, other=other)


def empty(pick: Pick, by: Person) -> object:
    return racks.empty_rack(pick.rack.pk, into=pick.house.racks[pick.other % 2], by=by)


def carry(pick: Pick, by: Person) -> object:
    others = Trough.objects.exclude(pk=pick.rack.trough_id).order_by("pk")
    return racks.move_rack(pick.rack.pk, trough=others[pick.other % others.count()], by=by)


def shrink(pick: Pick, by: Person) -> object:
    rack, columns = pick.rack, 1 + pick.other % 2
    return arranging.change_rack(rack.pk, name=rack.name, rows=rack.rows, columns=columns, by=by)


def join(pick: Pick, by: Person) -> object:
    return parts.join_frags(pick.frag, other_ids=[pick.second], by=by)


def sell_held(pick: Pick, by: Person) -> object:
    claim = pick.claim("named")
    return claims.take_for_sale(pick.frag, pieces=pick.number, by=by, hold_id=claim)


DEEDS: Mapping[str, Deed] = {
    "cut": lambda pick, by: cut_colony(pick.colony.pk, pieces=pick.number, by=by),
    "cut a lot": lambda pick, by: cut_colony(
        pick.colony.pk, pieces=pick.number + 2, lot=True, by=by, rack=pick.rack
    ),
    "receive": lambda pick, by: receive_frag(pick.colony.variety, pieces=pick.number, by=by),
    "healed": lambda pick, by: grading.mark_healed([pick.frag], by=by),
    "grade": lambda pick, by: grading.grade_frags([pick.frag], size="M", by=by),
    "grade another": lambda pick, by: grading.grade_frags([pick.second], size="L", by=by),
    "not yet": lambda pick, by: grading.look_later([pick.frag], by=by),
    "not ready": lambda pick, by: grading.mark_not_ready([pick.frag], by=by),
    "seen": lambda pick, by: looks.mark_seen([pick.frag], by=by),
    "wrong": lambda pick, by: looks.mark_wrong([pick.frag], wrong="algae", by=by),
    "dip": lambda pick, by: care.dip_frags([pick.frag], dip="iodine", by=by),
    "remount": lambda pick, by: care.remount_frags([pick.frag], medium="disc", by=by),
    "relabel": lambda pick, by: care.relabel_frag(pick.frag, by=by),
    "apart": lambda pick, by: aside.set_apart([pick.frag], by=by, reason="stung"),
    "quarantine": quarantine,
    "release": release,
    "keep back": lambda pick, by: aside.keep_back([pick.frag], kept=pick.number % 2 == 0, by=by),
    "place": lambda pick, by: moving.place_frags([pick.frag, pick.second], rack=pick.rack, by=by),
    "move": move,
    "fill holes": lambda pick, by: moving.fill_holes([pick.frag], rack=pick.rack, by=by),
    "see a rack": lambda pick, by: racks.see_rack(pick.rack.pk, by=by),
    "turn a rack": lambda pick, by: racks.turn_rack(pick.rack.pk, by=by),
    "empty a rack": empty,
    "carry a rack": carry,
    "another grid": shrink,
    "count a rack": count_rack,
    "split": lambda pick, by: parts.split_frag(pick.frag, pieces=pick.number, by=by),
    "split as a lot": lambda pick, by: parts.split_frag(
        pick.frag, pieces=pick.number, by=by, each=False
    ),
    "recut": lambda pick, by: parts.recut_frag(pick.frag, into=1 + pick.number, by=by),
    "join": join,
    "hold": hold,
    "let go": lambda pick, by: claims.let_go(pick.claim("named"), by=by),
    "sell": lambda pick, by: claims.take_for_sale(pick.frag, pieces=pick.number, by=by),
    "sell held": sell_held,
    "back": take_back,
    "lose": lambda pick, by: losses.record_loss(pick.frag, pieces=pick.number, cause="pest", by=by),
    "lose two": lose_two,
    "undo": undo,
    "found": lambda pick, by: counting.found_again(pick.frag, pieces=pick.number, by=by),
    "count a lot": lambda pick, by: counting.count_lot(
        pick.frag, pieces=pick.number, cause="unknown", by=by
    ),
    "give": lambda pick, by: counting.give_frags(
        [pick.frag], why="school", pieces=pick.number, by=by
    ),
    "keep as colony": lambda pick, by: mothers.keep_as_colony(pick.frag, by=by),
    "offer whole": lambda pick, by: leaving.offer_whole(pick.colony.pk, by=by),
    "colony back": lambda pick, by: leaving.bring_back(pick.colony.pk, by=by, because="a slip"),
    "colony dies": lambda pick, by: leaving.record_death(pick.colony.pk, by=by, cause="pest"),
    "stop-sale": stop,
    "bar": bar,
}

COMES = {"cut", "received", "found", "undone"}
GOES = {"sold", "lost", "given", "kept as colony"}


def pieces_told() -> int:
    """Count the living pieces of the house from the bodies of all events, without the rules."""
    total = 0
    for kind, body in FragEvent.objects.values_list("kind", "body"):
        total += change_told(kind, body)
    return total


def change_told(kind: str, body: Mapping[str, Any]) -> int:
    """Return how many pieces more there are after one event."""
    count = int(body.get("pieces", 0))
    if kind in COMES or (kind == "returned" and body["alive"]):
        return count
    if kind in GOES:
        return -count
    if kind == "split":
        return count if "from" in body else -count
    if kind == "joined":
        return -count if "into" in body else count
    return 0
