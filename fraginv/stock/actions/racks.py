"""What happens to a rack with all that stands in it."""

from typing import Any

from django.db.models import Q

from fraginv.base.actions.words import rewrite_words
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.actions.log import when
from fraginv.stock.actions.moving import lift_out, put_each, refuse_to_place
from fraginv.stock.actions.rack_locks import lock_rack, lock_racks, lock_trough
from fraginv.stock.actions.rack_log import note_rack
from fraginv.stock.actions.stopped_water import keep_apart, keep_rack_apart, step_of, water_of
from fraginv.stock.models import Frag, Rack, RackEvent, Trough
from fraginv.stock.models.places import IN_USE
from fraginv.stock.queries import places
from fraginv.stock.queries.holes import holes_taken
from fraginv.stock.queries.racks import get_rack, stands_in, who_shifted
from fraginv.stock.queries.stops import stops_of_waters
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.moves import Moved
from fraginv.stock.rules.racks import Hole, RackKind, is_in_grid
from fraginv.stock.rules.stops import say_left


@one_transaction
def see_rack(rack_id: int, *, by: Person) -> RackEvent:
    """Note that all in a rack was looked at and is fine, but for what is said to be wrong.

    In quarantine it is a clean check of each frag with which nothing is wrong, once a day.
    Raises: Conflict where the rack is out of use, or somebody has just changed it.
    Lock: the rack, then the frags.
    Queries: 3; in quarantine 2 more, 1 per frag, and 1 per 500.
    """
    rack = lock_rack(rack_id)
    refuse_out_of_use(rack)
    moment = when()
    checked = 0
    if rack.trough.system.quarantine:
        there = Frag.objects.filter(stands_in(rack), quarantined=True, wrong="")
        due = Q(checked_on__isnull=True) | Q(checked_on__lt=moment.day)
        frags = list(there.filter(due).order_by("pk"))
        body: dict[str, Any] = {"clean": True}
        checked = change(frags, Kind.INSPECTED, by=by, body=body, moment=moment)
    return note_rack(rack, RackKind.SEEN, by=by, body={"checked": checked}, moment=moment)


@one_transaction
def turn_rack(rack_id: int, *, by: Person, seq: int | None = None) -> RackEvent:
    """Note that a rack was turned round; its holes keep their names.

    Args: ``seq`` is the rack's last event when the page was drawn that asked for it.
    Raises: Conflict where somebody moved, turned or emptied it since.
    """
    rack = get_rack(rack_id)
    refuse_out_of_use(rack)
    refuse_shifted(rack, seq=seq)
    turned = not rack.turned
    return note_rack(rack, RackKind.TURNED, by=by, body={"turned": turned}, turned=turned)


@one_transaction
def move_rack(rack_id: int, *, trough: Trough, by: Person, seq: int | None = None) -> RackEvent:
    """Put a rack with all that stands in it into another trough.

    What comes out of water under a stop-sale with it is set apart; the event says how many.
    Args: ``seq`` as for ``turn_rack``.
    Raises: InputError where it is there already; Conflict where the trough has one of its
        name, where it would carry something between quarantine and other water, or where
        somebody moved, turned or emptied it since; NotFound for a trough that is out of use.
    Lock: the rack, then the trough, then the frags in it.
    """
    rack = lock_rack(rack_id)
    refuse_out_of_use(rack)
    refuse_shifted(rack, seq=seq)
    trough = lock_trough(trough.pk)
    if rack.trough_id == trough.pk:
        raise InputError(f"{rack} stands in {trough} already. Choose another trough.")
    if trough.racks.filter(IN_USE, name__iexact=rack.name).exists():
        raise Conflict(f"{trough} has a rack {rack.name} already. Rename one of them first.")
    refuse_to_carry(rack, trough=trough)
    moment = when()
    apart = keep_rack_apart(rack, trough=trough, by=by, moment=moment)
    body = {"from": rack.trough_id, "to": trough.pk} | ({"apart": apart} if apart else {})
    event = note_rack(rack, RackKind.MOVED, by=by, body=body, moment=moment, trough=trough)
    rack.trough = trough
    rewrite_words(places.names_of_racks([rack]), kind=places.RACK)
    return event


def refuse_to_carry(rack: Rack, *, trough: Trough) -> None:
    """Keep what stands in a rack out of, or inside, quarantine, and colonies in stopped water.

    Raises: Conflict.
    Queries: 1 to 3.
    """
    left, now = water_of(rack.trough), water_of(trough)
    stopped = say_left(stops_of_waters({left}), left=left, now=now)
    if stopped and places.colonies_in(rack).exists():
        raise Conflict(
            f"A stop-sale holds where {rack} stands, and colonies stand in it. Put them into "
            "another rack there, or wait until it has ended."
        )
    system, other = rack.trough.system, trough.system
    if system.pk == other.pk or not (system.quarantine or other.quarantine):
        return
    frags = Frag.objects.filter(stands_in(rack)).count()
    colonies = places.colonies_in(rack).count()
    if frags or colonies:
        raise Conflict(
            f"{rack} stands in {system} and holds {frags} frags and {colonies} colonies. "
            f"Between quarantine and other water only an empty rack is carried: "
            f"move each piece by itself, then the rack to {other}."
        )


@one_transaction
def empty_rack(rack_id: int, *, into: Rack, by: Person, seq: int | None = None) -> Moved:
    """Put all living frags of a rack into another one.

    Each keeps its hole where the other rack has it and it is free; else its hole is not
    known. Colonies stay.
    Args: ``seq`` as for ``turn_rack``.
    Raises: InputError for the same rack, or one in which nothing stands; Conflict for other
        water, or where somebody moved, turned or emptied the rack since.
    Lock: both racks, then the frags.
    Queries: 7, 1 per frag, 1 per 500, and those of ``keep_apart``.
    """
    if into.pk == rack_id:
        raise InputError("Choose another rack than the one that is emptied.")
    racks = lock_racks([rack_id, into.pk])
    rack, into = racks[rack_id], racks[into.pk]
    refuse_shifted(rack, seq=seq)
    rows = Frag.objects.select_related("rack__trough").filter(stands_in(rack))
    frags = list(rows.order_by("pk"))
    if not frags:
        raise InputError(f"Nothing stands in {rack}.")
    for frag in frags:
        refuse_to_place(frag, rack=into)
    taken = holes_taken(into)
    bodies = [{"rack": into.pk, **hole_kept(frag, rack=into, taken=taken)} for frag in frags]
    lift_out(frags)
    moment = when()
    put_each(zip(frags, bodies, strict=True), by=by, moment=moment)
    apart = keep_apart([step_of(frag, rack=into) for frag in frags], by=by, moment=moment)
    body = {"into": into.pk, "frags": len(frags)} | ({"apart": apart} if apart else {})
    note_rack(rack, RackKind.EMPTIED, by=by, body=body, moment=moment)
    kept = sum(1 for one in bodies if one["row"])
    return Moved(len(frags), kept, apart=apart)


def hole_kept(frag: Frag, *, rack: Rack, taken: set[Hole]) -> dict[str, int | None]:
    """Return the hole that a frag has, where another rack has it too and it is free."""
    hole = (frag.hole_row or 0, frag.hole_column or 0)
    if hole in taken or not is_in_grid(hole, rows=rack.rows, columns=rack.columns):
        return {"row": None, "column": None}
    return {"row": hole[0], "column": hole[1]}


def refuse_out_of_use(rack: Rack) -> None:
    """Refuse what a rack that was withdrawn cannot have done to it.

    Raises: Conflict.
    """
    if rack.withdrawn_on is not None:
        raise Conflict(f"{rack} is out of use.")


def refuse_shifted(rack: Rack, *, seq: int | None) -> None:
    """Refuse to act on a page that was drawn before somebody moved, turned or emptied the rack.

    Raises: Conflict saying who did what.
    Queries: 0 or 1.
    """
    if seq is None or seq == rack.last_seq:
        return
    event = who_shifted(rack, since=seq)
    if event is not None:
        raise Conflict(
            f"{event.by.name} has just {event.kind} {rack.name}: it stands in "
            f"{rack.trough} now. Look at it again."
        )
