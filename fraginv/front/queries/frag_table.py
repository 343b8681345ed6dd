"""A list of frags as a table to keep, exactly as it is narrowed."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final, TypeVar

from django.db.models import Model, QuerySet

from fraginv.base.errors import InputError
from fraginv.base.queries.looking import everything, look
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.csv_text import Cell
from fraginv.front.queries.frag_parts import Plan, plan_of
from fraginv.front.rules.frag_filters import FragFilter
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import free_now
from fraginv.stock.rules.stages import TROUBLES

M = TypeVar("M", bound=Model)
MOST_ROWS: Final = 100_000
PORTION: Final = 1_000
LOOKED_AT_ONCE: Final = 20_000
FRAG_HEADINGS: Final = [
    *("code", "old_code", "variety", "genus", "species", "group", "stage", "size", "heads"),
    *("pieces", "free", "held", "lot", "on", "colony", "cut_on", "age_days", "ready_on"),
    *("ended_on", "system", "trough", "rack", "row", "column", "set_apart", "quarantined"),
    *("kept_back", "problem", "seen_on"),
]
ALONG: Final = ("variety__genus", "colony", "rack__trough__system")


def frag_table(asked: FragFilter) -> Iterator[Sequence[Cell]]:
    """Return the rows of a table of the frags that are asked for, read while it is gone through.

    Raises: InputError where there are more than a table can have.
    Queries: 1 and those of ``plan_of``; then 4 for each thousand rows.
    """
    frags = Frag.objects.select_related(*ALONG).prefetch_related("code__old_codes")
    rows = frags.annotate(free_now=free_now())
    plan = plan_of(asked)
    refuse_too_many(rows, plan=plan)
    day = today()
    return (frag_cells(frag, day=day) for frag in all_of(rows, plan=plan))


def refuse_too_many(rows: QuerySet[M], *, plan: Plan) -> None:
    """Refuse a table that is too long to be of use.

    Raises: InputError.
    Queries: 1.
    """
    beyond = rows.filter(everything(plan.parts)).order_by()[MOST_ROWS : MOST_ROWS + 1]
    if list(beyond.values_list("pk", flat=True)):
        raise InputError(
            f"More than {MOST_ROWS:,} rows are too many for one table. Narrow the list, "
            "by age for instance, and take it out in parts."
        )


def all_of(rows: QuerySet[M], *, plan: Plan) -> Iterator[M]:
    """Yield all rows of a narrowed list in its order, a portion at a time.

    Queries: 2 for each portion, and those that the rows fetch along.
    """
    after: int | None = None
    while True:
        page = look(
            rows,
            parts=plan.parts,
            order=plan.order,
            size=PORTION,
            after=after,
            bound=LOOKED_AT_ONCE,
        )
        yield from page.rows
        after = page.after
        if after is None:
            return


def yes(holds: bool) -> str:
    """Say that something holds; an empty cell says that it does not."""
    return "yes" if holds else ""


def frag_cells(frag: Frag, *, day: date) -> list[Cell]:
    """Return what a table says of a frag that was read with all that this names."""
    variety, rack = frag.variety, frag.rack
    free = int(getattr(frag, "free_now"))  # noqa: B009 an annotation that the stubs do not know
    old = ", ".join(sorted(mark.text for mark in frag.code.old_codes.all()))
    return [
        *(show_code(frag.code_id), old, variety.name, variety.genus.name, variety.species),
        *(variety.group, frag.stage, frag.size, frag.heads, frag.pieces, free),
        *(frag.pieces - free, yes(frag.is_lot), frag.new_medium or frag.medium),
        *(show_code(frag.colony.code_id) if frag.colony else "", frag.cut_on),
        *((day - frag.cut_on).days, frag.ready_on, frag.ended_on),
        *((rack.trough.system.name, rack.trough.name, rack.name) if rack else ("", "", "")),
        *(frag.hole_row, frag.hole_column, yes(frag.apart), yes(frag.quarantined)),
        *(yes(frag.kept_back), TROUBLES.get(frag.wrong, ""), frag.seen_on),
    ]
