"""Bars: what forbids to cut, sell or give a colony and all that descends from it."""

from collections.abc import Iterator

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.colony_log import note_colony
from fraginv.stock.models import Bar, Colony
from fraginv.stock.queries.bars import open_bars
from fraginv.stock.queries.lineage import line_above, line_below
from fraginv.stock.rules.colonies import (
    BAR_KINDS,
    BAR_OF_ORIGIN,
    BarKind,
    ColonyKind,
    effective_bars,
    is_bound,
    read_words,
)

PORTION = 500


@one_transaction
def bar_colony(colony: Colony, *, because: str, by: Person, kind: str = BarKind.AUTHORITY) -> Bar:
    """Bar a colony, and all that descends from it, from cutting, sale and giving.

    Raises: InputError without a reason or for an unknown kind; Conflict where it has a
        bar of its own already.
    Lock: the first colony of its line.
    Queries: 8, and 1 for each 500 colonies of the line below that change.
    """
    reason = read_words(because, what="reason")
    if not reason:
        raise InputError("Write down why the colony is barred.")
    if kind not in BAR_KINDS:
        raise InputError(f"{kind!r} is no kind of bar. Use one of {', '.join(BAR_KINDS)}.")
    lock_line(colony.pk)
    if open_bars([colony.pk]).exists():
        raise Conflict("This colony has a bar of its own already. Lift that one first.")
    bar = Bar.objects.create(
        colony_id=colony.pk, kind=kind, reason=reason, by=by, set_at=clock.now()
    )
    note_colony(colony.pk, ColonyKind.BARRED, by=by, body={"bar": bar.pk})
    refresh_bars(colony.pk)
    return bar


def bar_bound(colony: Colony, *, by: Person) -> None:
    """Bar a colony that was seized, or is on loan on no written terms, unless it is barred.

    Raises: none of its own.
    Queries: none where nothing binds it; else 1, and those of ``bar_colony``.
    """
    if not is_bound(colony.origin, has_terms=colony.owner_share is not None):
        return
    if not open_bars([colony.pk]).exists():
        kind, because = BAR_OF_ORIGIN[colony.origin]
        bar_colony(colony, because=because, kind=kind, by=by)
        colony.refresh_from_db(fields=["barred_because"])


@one_transaction
def lift_bar(bar_id: int, *, because: str, by: Person) -> Bar:
    """Lift a bar; a colony under another one stays barred.

    Raises: InputError without a reason; Conflict where it was lifted already.
    Lock: the first colony of its line.
    Queries: 9, and 1 for each 500 colonies of the line below that change.
    """
    reason = read_words(because, what="reason")
    if not reason:
        raise InputError("Write down why the bar is lifted.")
    bar = Bar.objects.get(pk=bar_id)
    lock_line(bar.colony_id)
    lifted = Bar.objects.filter(pk=bar_id, lifted_at__isnull=True).update(
        lifted_at=clock.now(), lifted_by=by, lifted_because=reason
    )
    if not lifted:
        raise Conflict("This bar was lifted already.")
    note_colony(bar.colony_id, ColonyKind.LIFTED, by=by, body={"bar": bar_id})
    refresh_bars(bar.colony_id)
    return bar


def lock_line(colony_id: int) -> None:
    """Let nobody else bar, or keep a frag of, a colony of this line until the transaction ends.

    The first colony of the line is locked, so that all of the line wait for each other.
    Queries: 2.
    """
    first = line_above(colony_id)[-1]
    Colony.objects.select_for_update().values_list("pk").get(pk=first)


def refresh_bars(colony_id: int) -> None:
    """Write on a colony and all that descend from it why each is barred now, or that it is not.

    Queries: 3 to 4, and 1 for each 500 that change.
    """
    line = line_below(colony_id)
    mother = line[colony_id]
    above = Colony.objects.get(pk=mother).barred_because if mother else ""
    own = dict(open_bars(line).values_list("colony", "reason"))
    effective = effective_bars(line, own=own, above=above)
    for reason in set(effective.values()):
        told = [one for one, said in effective.items() if said == reason]
        for some in portions(told):
            rows = Colony.objects.filter(pk__in=some).exclude(barred_because=reason)
            rows.update(barred_because=reason)


def portions(ids: list[int]) -> Iterator[list[int]]:
    """Yield ids in portions that a statement takes."""
    for start in range(0, len(ids), PORTION):
        yield ids[start : start + PORTION]
