"""Doing what a scan was made for, by the same actions as everywhere else."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from fraginv.base.errors import Conflict
from fraginv.base.models import Code, Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.show import show_moment
from fraginv.base.transactions import one_transaction
from fraginv.front.queries.scans import frag_scanned, label_meant, later_than
from fraginv.front.rules.scans import Act, Overtaken, overtaken_by
from fraginv.labels.actions.lost import mark_label_found, mark_label_lost
from fraginv.stock.actions.grading import grade_frags, mark_not_ready
from fraginv.stock.actions.log import happening_at
from fraginv.stock.actions.looks import mark_seen
from fraginv.stock.actions.losses import record_loss, undo_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag
from fraginv.stock.queries.holes import in_hole
from fraginv.stock.queries.places import rack_by_code
from fraginv.stock.rules.moves import Moved
from fraginv.stock.rules.stages import Stage

# What came of a scan, as plain texts: kept with its replay key, and read back from there.
Facts = dict[str, str]


@dataclass(frozen=True)
class Scan:
    """One scan as it came in: what was read, when, by whom, and what was chosen before."""

    act: Act
    text: str
    at: datetime
    by: Person
    chosen: Mapping[str, Any] = field(default_factory=dict)


@one_transaction
def carry_out(scan: Scan) -> Facts:
    """Do what a scan was made for, as of the moment at which it was made.

    Returns: what came of it.
    Raises: InputError, NotFound or Conflict where it cannot be done, or fits no longer.
    """
    with happening_at(scan.at):
        if scan.act in LABELS:
            code = label_meant(scan.text)
            return {"do": scan.act.value, "code": code.code} | LABELS[scan.act](code, scan)
        frag = frag_scanned(scan.text)
        refuse_overtaken(scan, frag)
        return {"do": scan.act.value, "code": frag.code_id} | DOING[scan.act](frag, scan)


def refuse_overtaken(scan: Scan, frag: Frag) -> None:
    """Refuse a scan that waited while something else happened to the piece.

    Raises: Overtaken saying what, when and by whom.
    Queries: 1.
    """
    later = later_than(scan.at, frag=frag)
    one = overtaken_by(scan.act, later, is_lot=frag.is_lot)
    if one is not None:
        raise Overtaken(
            f"{show_code(frag.code_id)} was {one.kind} by {one.by} on "
            f"{show_moment(one.at, organisation())}, after this scan. "
            "Look at the piece, then do it now or drop it."
        )


def note_label(code: Code, scan: Scan) -> Facts:
    """Note that a label is lost, whatever carries it.

    Raises: Overtaken for one that was printed after the scan.
    """
    if code.printed_at is not None and code.printed_at > scan.at:
        raise Overtaken(
            f"The label of {show_code(code.code)} was printed after this scan. "
            "Do it now if that one is lost too, or drop it."
        )
    return {} if mark_label_lost([code.code], by=scan.by) else {"stays": "yes"}


def take_back_label(code: Code, scan: Scan) -> Facts:
    """Say that a label is there after all."""
    mark_label_found([code.code], by=scan.by)
    return {}


def see(frag: Frag, scan: Scan) -> Facts:
    """Note that a piece was looked at and is fine."""
    mark_seen([frag.pk], by=scan.by)
    return {}


def move(frag: Frag, scan: Scan) -> Facts:
    """Put a piece into the rack that was chosen; one that stands there stays as it is.

    A hole to which a piece is put back may be taken by now: then only the rack is known.
    """
    rack = rack_by_code(scan.chosen["rack"])
    row, column = scan.chosen.get("row"), scan.chosen.get("column")
    facts = {"rack": rack.code_id}
    if frag.rack_id == rack.pk and row is None:
        return facts | {"stays": "yes"}
    if row and in_hole(rack, hole=(row, column)).exclude(pk=frag.pk).exists():
        row = column = None
    moved = place_frags([frag.pk], rack=rack, row=row, column=column, by=scan.by)
    facts |= facts_of(moved)
    if frag.rack is None or frag.rack_id == rack.pk:
        return facts
    hole = {"row": str(frag.hole_row), "column": str(frag.hole_column)} if frag.hole_row else {}
    return facts | {"from": frag.rack.code_id} | hole


def grade(frag: Frag, scan: Scan) -> Facts:
    """Grade a piece ready at the size that was chosen."""
    was = frag.size if frag.stage == Stage.READY else "not ready"
    grade_frags([frag.pk], size=scan.chosen["size"], by=scan.by)
    facts = {"size": scan.chosen["size"], "was": was}
    return facts | ({"wrong": frag.wrong} if frag.wrong else {})


def take_back_grade(frag: Frag, scan: Scan) -> Facts:
    """Say that a piece is not ready after all."""
    mark_not_ready([frag.pk], by=scan.by)
    return {}


def lose(frag: Frag, scan: Scan) -> Facts:
    """Write one piece off with the cause that was chosen."""
    cause = scan.chosen["cause"]
    loss = record_loss(frag.pk, pieces=1, cause=cause, by=scan.by)
    return {"cause": cause, "left": str(frag.pieces - 1), "loss": str(loss.pk)}


def take_back_loss(frag: Frag, scan: Scan) -> Facts:
    """Take a loss back that was a mistake.

    Raises: Conflict for a loss of another piece.
    """
    number = scan.chosen["loss"]
    if not frag.losses.filter(pk=number).exists():
        raise Conflict(f"{show_code(frag.code_id)} has no such loss. Open it to see its log.")
    return facts_of(undo_loss(number, by=scan.by))


def facts_of(moved: Moved) -> Facts:
    """Return what else came of putting one piece somewhere: set apart, hole or place not known."""
    told = {"apart": moved.apart, "no_hole": moved.no_hole, "no_place": moved.no_place}
    return {name: "yes" for name, holds in told.items() if holds}


DOING: Final[Mapping[Act, Callable[[Frag, Scan], Facts]]] = {
    Act.SEEN: see,
    Act.MOVE: move,
    Act.READY: grade,
    Act.UNREADY: take_back_grade,
    Act.LOSE: lose,
    Act.UNLOSE: take_back_loss,
}

LABELS: Final[Mapping[Act, Callable[[Code, Scan], Facts]]] = {
    Act.LABEL: note_label,
    Act.UNLABEL: take_back_label,
}
