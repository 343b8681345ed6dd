"""Bringing in a table of frags that are in the troughs already."""

from collections.abc import Sequence
from typing import Any, Final

from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.columns import Column, column, day_column, text_column, whole_column
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, trial
from fraginv.stock.actions.loaded import FragDraft, write_frags
from fraginv.stock.loading.marks import LONGEST_CODE, LONGEST_RACK, Reading, mark_columns
from fraginv.stock.models import Colony, Rack, Variety
from fraginv.stock.queries.named import holes_taken, known_colonies
from fraginv.stock.rules.cutting import MOST_PIECES
from fraginv.stock.rules.stages import MEDIUMS, SIZES, Stage
from fraginv.stock.rules.typed import STAGES, read_medium, read_size, read_stage

MOST_HEADS: Final = 999
MOST_HOLES: Final = 40
LONGEST_NOTE: Final = 300
PLUG: Final = "plug"


def columns() -> list[Column]:
    """Return the columns of the table; a row names a variety, or the colony it was cut from."""
    stages, sizes, mediums = ", ".join(STAGES), ", ".join(SIZES), ", ".join(MEDIUMS)
    return [
        text_column("variety", longest=80, required=False),
        text_column("colony", longest=LONGEST_CODE, required=False),
        whole_column("pieces", least=1, most=MOST_PIECES, required=False),
        day_column("cut_on", required=False),
        column(
            "stage",
            read_stage,
            hint=f"one of: {stages}",
            required=False,
            empty=Stage.GROWING.value,
        ),
        column("size", read_size, hint=f"one of: {sizes}", required=False, empty=""),
        whole_column("heads", least=1, most=MOST_HEADS, required=False),
        text_column("rack", longest=LONGEST_RACK, required=False),
        whole_column("row", least=1, most=MOST_HOLES, required=False),
        whole_column("column", least=1, most=MOST_HOLES, required=False),
        column("medium", read_medium, hint=f"one of: {mediums}", required=False, empty=PLUG),
        *mark_columns(),
        text_column("note", longest=LONGEST_NOTE, required=False),
    ]


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 5, and 3 for each 500 labels, old codes and racks.
    """
    return LoadResult(len(rows), said_of(rows, drafts_of(rows)))


@one_transaction
def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    Each frag or lot comes in with one event, today, and gets a code, that of a blank label
    where the row names one; codes are given in the order of the rows. What stands in
    quarantine water is in quarantine. ``dry_run`` does the same and takes it back.
    Raises: TableErrors naming each row with a variety, colony, rack or label that there is
        not, a hole or old code that is taken, or what cannot be; Conflict where a rack was
        changed meanwhile.
    Queries: 6, 3 for each 500 labels, old codes and racks, and 5 for each 500 rows, on
        SQLite more.
    """
    drafts = drafts_of(rows)
    with trial(dry_run):
        given = write_frags(drafts, by=by)
    return LoadResult(len(rows), said_of(rows, drafts), given)


def said_of(rows: Sequence[Row], drafts: Sequence[FragDraft]) -> list[str]:
    """Say how many pieces there are, and what was taken for granted."""
    pieces = sum(draft.body["pieces"] for draft in drafts)
    apart = sum(draft.body["pieces"] for draft in drafts if draft.body.get("quarantined"))
    undated = sum(row["cut_on"] is None for row in rows)
    said = [f"Living pieces: {pieces:,}."]
    if apart:
        said.append(f"In quarantine, for they stand in its water: {apart:,} of them.")
    if undated:
        said.append(f"Rows without a day of cutting, which count from today: {undated:,}.")
    return said


def drafts_of(rows: Sequence[Row]) -> list[FragDraft]:
    """Turn rows into frags.

    Raises: TableErrors.
    """
    reading = FragReading(rows)
    drafts = [reading.draft_of(row) for row in rows]
    if reading.problems:
        raise TableErrors(reading.problems)
    return [draft for draft in drafts if draft is not None]


class FragReading(Reading):
    """Turns rows into frags and collects what is wrong with them."""

    def __init__(self, rows: Sequence[Row]) -> None:
        """Look up what the rows name.

        Queries: 5, and 3 for each 500 labels, old codes and racks.
        """
        super().__init__(rows)
        self.colonies = known_colonies()
        named = dict.fromkeys(row["rack"] for row in rows if row["rack"])
        self.found_racks |= {text: self.look_for(text) for text in named}
        there = (rack.pk for rack in self.found_racks.values() if isinstance(rack, Rack))
        self.holes = holes_taken(there)
        self.filled: dict[tuple[int, int, int], int] = {}

    def draft_of(self, row: Row) -> FragDraft | None:
        """Return a row's frag, or None and note what is wrong."""
        colony = self.colony_of(row)
        variety = self.variety_or(row, colony)
        rack = self.rack_of(row)
        self.check_hole(row, rack)
        if row["cut_on"] is not None:
            earliest = None if colony is None else colony.acquired_on
            self.check_day(row, "cut_on", earliest=earliest)
        if row["stage"] == Stage.READY and not row["size"]:
            self.problem(row, "size", f"what is ready has a size: one of {', '.join(SIZES)}.")
        label, old_code = self.label_of(row), self.old_code_of(row)
        if variety is None:
            return None
        return FragDraft(
            line=row.line,
            label=label,
            old_code=old_code,
            variety=variety,
            rack=rack,
            colony=colony,
            medium=row["medium"],
            cut_on=row["cut_on"] or self.today,
            body=body_of(row, rack),
        )

    def colony_of(self, row: Row) -> Colony | None:
        """Return the colony that a row's frag was cut from, or None."""
        text = row["colony"]
        if not text:
            return None
        try:
            return self.colonies.find(text)
        except InputError as error:
            self.problem(row, "colony", error.message)
            return None

    def variety_or(self, row: Row, colony: Colony | None) -> Variety | None:
        """Return the variety of a row, or that of its colony."""
        if not row["variety"]:
            if colony is not None:
                return colony.variety
            if not row["colony"]:
                self.problem(row, "variety", "write the variety, or the colony it was cut from.")
            return None
        found = self.variety_of(row)
        if found is not None and colony is not None and colony.variety_id != found.pk:
            shown = show_code(colony.code_id)
            reason = f"the colony {shown} is {colony.variety.name}, not {found.name}."
            self.problem(row, "variety", reason)
        return found

    def check_hole(self, row: Row, rack: Rack | None) -> None:
        """Note a hole without its rack, outside the grid, or taken."""
        at, across = row["row"], row["column"]
        if at is None and across is None:
            return
        if at is None or across is None:
            missing = "row" if at is None else "column"
            self.problem(row, missing, "a hole has a row and a column; write both or none.")
        elif rack is None:
            if not row["rack"]:
                self.problem(row, "rack", "write in which rack the hole is, or leave it empty.")
        elif at > rack.rows or across > rack.columns:
            reason = f"{rack} has {rack.rows} rows and {rack.columns} columns, counted from 1."
            self.problem(row, "row" if at > rack.rows else "column", reason)
        else:
            self.take_hole(row, rack, (rack.pk, at, across))

    def take_hole(self, row: Row, rack: Rack, hole: tuple[int, int, int]) -> None:
        """Note that a row's frag stands in a hole, and what is wrong where another does."""
        where = f"row {hole[1]}, column {hole[2]} of {rack}"
        if hole in self.holes:
            self.problem(row, "row", f"{self.holes[hole]} stands in {where} already.")
        elif self.filled.setdefault(hole, row.line) != row.line:
            reason = f"{where} is on line {self.filled[hole]} already; one hole holds one frag."
            self.problem(row, "row", reason)


def body_of(row: Row, rack: Rack | None) -> dict[str, Any]:
    """Return the body of the event by which a frag comes in, without what is empty."""
    body: dict[str, Any] = {"pieces": row["pieces"] or 1, "stage": row["stage"]}
    body |= {name: row[name] for name in ("size", "heads", "row", "column", "note") if row[name]}
    if rack is not None:
        body["rack"] = rack.pk
        if rack.trough.system.quarantine:
            body["quarantined"] = True
    return body
