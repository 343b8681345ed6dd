"""Writing the water log."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.days import business_day
from fraginv.base.rules.roles import Right
from fraginv.base.transactions import one_transaction
from fraginv.stock.models import System, Trough, WaterEntry
from fraginv.stock.rules.water import (
    MEASURED,
    WaterKind,
    check_moment,
    check_text,
    check_value,
    name_of_kind,
    unit_of,
)

BATCH = 500


@dataclass(frozen=True)
class Reading:
    """One thing measured, or done: its kind with a value in its unit, or with words."""

    kind: WaterKind
    value: Decimal | None = None
    text: str = ""


@dataclass(frozen=True)
class WaterDraft:
    """One entry of a table, checked; ``trough`` is None for the whole system."""

    system_id: int
    trough_id: int | None
    at: datetime
    reading: Reading


@one_transaction
def log_water(
    water: System | Trough,
    *,
    readings: Iterable[Reading],
    by: Person,
    at: datetime | None = None,
) -> list[WaterEntry]:
    """Write down what was measured of a water, or done to it, at one moment.

    Args: ``at`` is now unless given.
    Raises: InputError for nothing to write, a value that cannot be, or a moment to come;
        Conflict where the same was written for that moment already; NotAllowed.
    Queries: 3.
    """
    if not by.can(Right.LOG_WATER):
        raise NotAllowed("Your role does not let you write in the water log. Ask a grower.")
    wanted = [checked(reading) for reading in readings]
    if not wanted:
        raise InputError("Write down at least one value, or what was done.")
    now = clock.now()
    at = at or now
    check_moment(at, day=business_day(at, organisation().zone), now=now)
    is_trough = isinstance(water, Trough)
    system_id = water.system_id if isinstance(water, Trough) else water.pk
    trough_id = water.pk if is_trough else None
    drafts = [WaterDraft(system_id, trough_id, at, reading) for reading in wanted]
    refuse_twice(drafts)
    return write_water(drafts, by=by)


def checked(reading: Reading) -> Reading:
    """Return a reading whose value and words can be.

    Raises: InputError.
    """
    text = check_text(reading.text, kind=reading.kind)
    if reading.kind not in MEASURED:
        return replace(reading, text=text, value=None)
    if reading.value is None:
        raise InputError(f"{name_of_kind(reading.kind)}: write down the value.")
    return replace(reading, text=text, value=check_value(reading.value, kind=reading.kind))


def refuse_twice(drafts: Sequence[WaterDraft]) -> None:
    """Refuse what was written for the same water and moment already.

    Raises: Conflict naming the first.
    Queries: 1.
    """
    first = drafts[0]
    standing = WaterEntry.objects.filter(
        struck_at__isnull=True,
        system=first.system_id,
        trough=first.trough_id,
        at=first.at,
        kind__in=[draft.reading.kind.value for draft in drafts],
    ).first()
    if standing is not None:
        known = f"{standing.value or standing.text} {unit_of(standing.kind)}".strip()
        raise Conflict(
            f"{name_of_kind(standing.kind)} is written for that moment already: {known}. "
            "Strike it out first, or give another time."
        )


def write_water(drafts: Sequence[WaterDraft], *, by: Person) -> list[WaterEntry]:
    """Write entries that were checked.

    Queries: 1 for each 500, and 1 outside a request.
    """
    zone, now = organisation().zone, clock.now()
    return WaterEntry.objects.bulk_create(
        [
            WaterEntry(
                system_id=draft.system_id,
                trough_id=draft.trough_id,
                kind=draft.reading.kind.value,
                value=draft.reading.value,
                text=draft.reading.text,
                at=draft.at,
                day=business_day(draft.at, zone),
                by=by,
                recorded_at=now,
            )
            for draft in drafts
        ],
        batch_size=BATCH,
    )


@one_transaction
def write_table(drafts: Sequence[WaterDraft], *, by: Person) -> None:
    """Write the entries of a table; the caller has checked each of them.

    Queries: as ``write_water``.
    """
    write_water(drafts, by=by)


@one_transaction
def strike_entry(entry_id: int, *, by: Person) -> None:
    """Strike an entry out; it stays to be read, and counts no more.

    Raises: Conflict for one that is struck out already, or is not there; NotAllowed.
    Queries: 1.
    """
    if not by.can(Right.LOG_WATER):
        raise NotAllowed("Your role does not let you write in the water log. Ask a grower.")
    rows = WaterEntry.objects.filter(pk=entry_id, struck_at__isnull=True)
    if not rows.update(struck_at=clock.now()):
        raise Conflict("This entry is struck out already. Look at the log again.")
