"""Bringing in a table of the water log: of a probe, or of a spreadsheet."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from typing import Final
from zoneinfo import ZoneInfo

from fraginv.base import clock
from fraginv.base.errors import FraginvError, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.columns import Column, choice_column, column, day_column, text_column
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, trial
from fraginv.stock.actions.water import Reading, WaterDraft, write_table
from fraginv.stock.models import System, Trough, WaterEntry
from fraginv.stock.rules.water import (
    HAPPENED,
    LONGEST_TEXT,
    MEASURED,
    MEASURES,
    WaterKind,
    check_moment,
    check_text,
    name_of_kind,
    read_value,
)

LONGEST_NAME: Final = 60
NOON: Final = time(12)
Place = tuple[int, int | None]
Key = tuple[int, int | None, datetime, str]


def columns() -> list[Column]:
    """Return the columns: one entry a row by *kind*, or one kind a column, or both."""
    return [
        day_column("day"),
        column("time", read_time, hint="an hour, as in 14:30; noon when empty", required=False),
        text_column("system", longest=LONGEST_NAME),
        text_column("trough", longest=LONGEST_NAME, required=False),
        choice_column("kind", [kind.value for kind in WaterKind], required=False),
        text_column("value", longest=20, required=False),
        text_column("text", longest=LONGEST_TEXT, required=False),
        *(measured_column(kind) for kind in MEASURES),
    ]


def measured_column(kind: WaterKind) -> Column:
    """Return the column of one kind, read in its unit."""
    known = MEASURES[kind]
    hint = f"a number in {known.unit}, from {known.least} to {known.most}"
    return column(kind.value, reader(kind), hint=hint, required=False)


def reader(kind: WaterKind) -> Callable[[str], Decimal]:
    """Return how a cell of one kind is read."""
    return lambda cell: read_value(cell, kind=kind)


def read_time(cell: str) -> time:
    """Read an hour and a minute, perhaps with seconds.

    Raises: InputError.
    """
    try:
        found = time.fromisoformat(cell.zfill(5) if cell.count(":") == 1 else cell)
    except ValueError as error:
        raise InputError(f"{cell[:40]} is no time of day; write it as in 14:30.") from error
    if found.tzinfo is not None:
        raise InputError("Leave the zone out: times are those of the organisation.")
    return found


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 4.
    """
    return result_of(read(rows))


def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    What stands in the log with the same value already is left as it is and counted.
    Raises: TableErrors naming each bad row with its line, column and reason.
    Queries: 4, and 1 for each 500 entries.
    """
    return bring_in(rows, by=by, dry_run=dry_run)


@one_transaction
def bring_in(rows: Sequence[Row], *, by: Person, dry_run: bool) -> LoadResult:
    """Read and write rows in one transaction, or do as if."""
    reading = read(rows)
    with trial(dry_run):
        write_table(reading.drafts, by=by)
    return result_of(reading)


def read(rows: Sequence[Row]) -> "WaterReading":
    """Turn rows into entries.

    Raises: TableErrors.
    Queries: 4.
    """
    reading = WaterReading(known_waters(), organisation().zone)
    for row in rows:
        reading.take(row)
    reading.leave_out_standing()
    if reading.problems:
        raise TableErrors(sorted(reading.problems, key=lambda problem: problem.line))
    return reading


def result_of(reading: "WaterReading") -> LoadResult:
    """Say what a table brings in."""
    new, same = len(reading.drafts), reading.same
    said = [f"{new} entr{'y' if new == 1 else 'ies'} of the water log."]
    if same:
        stood, left = ("entry", "it is") if same == 1 else ("entries", "they are")
        said.append(f"{same} {stood} stood there already with the same value: left as {left}.")
    return LoadResult(reading.rows, said)


def known_waters() -> dict[tuple[str, str], Place]:
    """Return systems and their troughs by their folded names.

    Queries: 2.
    """
    found: dict[tuple[str, str], Place] = {
        (system.name.casefold(), ""): (system.pk, None) for system in System.objects.all()
    }
    for trough in Trough.objects.select_related("system"):
        key = (trough.system.name.casefold(), trough.name.casefold())
        found[key] = (trough.system_id, trough.pk)
    return found


@dataclass
class WaterReading:
    """The entries of a table as they are read, and what is wrong with it."""

    waters: Mapping[tuple[str, str], Place]
    zone: str
    rows: int = 0
    same: int = 0
    problems: list[Problem] = field(default_factory=list)
    taken: dict[Key, tuple[int, WaterDraft]] = field(default_factory=dict)

    @property
    def drafts(self) -> list[WaterDraft]:
        """Return the entries that are to be written."""
        return [draft for _, draft in self.taken.values()]

    def take(self, row: Row) -> None:
        """Read one row, or note what is wrong with it."""
        self.rows += 1
        try:
            place = self.place_of(row)
            at = self.moment_of(row)
            readings = list(readings_of(row))
        except ColumnError as error:
            self.problems.append(Problem(row.line, error.column, error.message))
            return
        if not readings:
            said = "nothing is measured in this row; fill in a kind with its value, or a column."
            self.problems.append(Problem(row.line, "kind", said))
        for reading in readings:
            self.add(WaterDraft(*place, at, reading), line=row.line)

    def place_of(self, row: Row) -> Place:
        """Return the water that a row names.

        Raises: ColumnError.
        """
        system, trough = row["system"], row["trough"]
        if (system.casefold(), "") not in self.waters:
            raise ColumnError("system", f"there is no system {system}; write it down under Places.")
        place = self.waters.get((system.casefold(), trough.casefold()))
        if place is None:
            raise ColumnError("trough", f"{system} has no trough {trough}.")
        return place

    def moment_of(self, row: Row) -> datetime:
        """Return the moment of a row in the organisation's zone.

        Raises: ColumnError.
        """
        day: date = row["day"]
        at = datetime.combine(day, row["time"] or NOON, ZoneInfo(self.zone))
        try:
            check_moment(at, day=day, now=clock.now())
        except FraginvError as error:
            raise ColumnError("day", error.message) from error
        return at

    def add(self, draft: WaterDraft, *, line: int) -> None:
        """Take an entry that the table does not have yet; the very same again is left out."""
        key = key_of(draft)
        before = self.taken.setdefault(key, (line, draft))
        if before[1] is draft:
            return
        if before[1].reading == draft.reading:
            self.same += 1
            return
        said = f"line {before[0]} says otherwise of that moment; take one of them out."
        self.problems.append(Problem(line, draft.reading.kind.value, said))

    def leave_out_standing(self) -> None:
        """Leave out what the log has already; note where it says otherwise.

        Queries: 1, or none for an empty table.
        """
        if not self.taken:
            return
        moments = [at for _, _, at, _ in self.taken]
        systems = {system for system, *_ in self.taken}
        standing = WaterEntry.objects.filter(
            system__in=systems, at__range=(min(moments), max(moments)), struck_at__isnull=True
        ).order_by()
        asked = ("system_id", "trough_id", "at", "kind", "value", "text")
        for system, trough, at, kind, value, text in standing.values_list(*asked).iterator(2000):
            found = self.taken.get((system, trough, at, kind))
            if found is None:
                continue
            line, draft = found
            if (draft.reading.value, draft.reading.text) != (value, text):
                known = text if value is None else f"{value.normalize():f}"
                said = f"the log says {known} of that moment; strike that out, or take this out."
                self.problems.append(Problem(line, kind, said))
                continue
            del self.taken[system, trough, at, kind]
            self.same += 1


class ColumnError(InputError):
    """Something is wrong in one column of a row."""

    def __init__(self, column: str, message: str) -> None:
        super().__init__(message)
        self.column = column


def key_of(draft: WaterDraft) -> Key:
    """Return what there may be only one entry of."""
    return (draft.system_id, draft.trough_id, draft.at, draft.reading.kind.value)


def readings_of(row: Row) -> Iterator[Reading]:
    """Yield what one row measured, or says was done.

    Raises: ColumnError.
    """
    for kind in MEASURES:
        if row[kind.value] is not None:
            yield Reading(kind, value=row[kind.value])
    if not row["kind"]:
        if row["value"]:
            raise ColumnError("kind", "the cell is empty; say what the value is of.")
        if row["text"] and all(row[kind.value] is None for kind in MEASURES):
            raise ColumnError("kind", f"say which it was: {', '.join(HAPPENED)}.")
        return
    yield reading_of_kind(row, kind=WaterKind(row["kind"]))


def reading_of_kind(row: Row, *, kind: WaterKind) -> Reading:
    """Return what a row says in its columns *kind*, *value* and *text*.

    Raises: ColumnError.
    """
    if kind in MEASURED and row[kind.value] is not None:
        raise ColumnError(kind.value, f"{name_of_kind(kind)} stands twice in this row.")
    try:
        value = read_value(row["value"], kind=kind) if kind in MEASURED else None
    except InputError as error:
        raise ColumnError("value", error.message) from error
    if value is None and row["value"]:
        raise ColumnError("value", f"a {kind.value} has no value; write it in the text.")
    try:
        return Reading(kind, value=value, text=check_text(row["text"], kind=kind))
    except InputError as error:
        raise ColumnError("text", error.message) from error
