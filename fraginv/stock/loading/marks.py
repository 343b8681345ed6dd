"""Reading what tables of colonies and of frags have in common: labels, old codes, racks."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

from fraginv.base.errors import InputError
from fraginv.base.models import Code
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import CodeError, read_code, show_code
from fraginv.base.rules.columns import Column, text_column
from fraginv.base.rules.known import Known
from fraginv.base.rules.old_codes import LONGEST, fold_old_code
from fraginv.base.rules.problems import Problem
from fraginv.base.tables import Row
from fraginv.stock.models import Rack, Variety
from fraginv.stock.queries.named import (
    KnownRacks,
    known_racks,
    known_varieties,
    labels_named,
    old_codes_taken,
)
from fraginv.stock.rules.cutting import check_day

LONGEST_RACK: Final = 200
LONGEST_CODE: Final = 200


def mark_columns() -> list[Column]:
    """Return the columns for a label that was printed ahead, and for an old code."""
    return [
        text_column("code", longest=LONGEST_CODE, required=False),
        text_column("old_code", longest=LONGEST, required=False),
    ]


class Reading:
    """What is known while rows are turned into living things, and what is wrong with them."""

    def __init__(self, rows: Sequence[Row]) -> None:
        """Look up what the rows name.

        Queries: 3, and 3 for each 500 labels and old codes.
        """
        self.problems: list[Problem] = []
        self.today: date = today()
        self.varieties: Known[Variety] = known_varieties()
        self.racks: KnownRacks = known_racks()
        self.labels: Mapping[str, Code] = labels_named([row["code"] for row in rows])
        self.taken: Mapping[str, str] = old_codes_taken(row["old_code"] for row in rows)
        self.seen: dict[tuple[str, str], int] = {}
        self.found_racks: dict[str, Rack | str] = {}

    def problem(self, row: Row, column: str, reason: str) -> None:
        """Note what is wrong in a column of a row."""
        self.problems.append(Problem(row.line, column, reason))

    def variety_of(self, row: Row) -> Variety | None:
        """Return the variety that a row names."""
        found = self.varieties.get(row["variety"])
        if found is None:
            self.problem(row, "variety", self.varieties.why_unknown(row["variety"]))
        return found

    def rack_of(self, row: Row) -> Rack | None:
        """Return the rack that a row names, or None."""
        text = row["rack"]
        if not text:
            return None
        if text not in self.found_racks:
            self.found_racks[text] = self.look_for(text)
        found = self.found_racks[text]
        if isinstance(found, str):
            self.problem(row, "rack", found)
            return None
        return found

    def look_for(self, text: str) -> Rack | str:
        """Return a rack, or what is wrong with its name."""
        try:
            return self.racks.find(text)
        except InputError as error:
            return error.message

    def label_of(self, row: Row) -> str:
        """Return the code of the blank label that a row's thing carries, or ""."""
        if not row["code"]:
            return ""
        try:
            code = read_code(row["code"])
        except CodeError as error:
            mend = "A code that is not ours goes into the column old_code."
            self.problem(row, "code", f"{error.message} {mend}")
            return ""
        label, shown = self.labels.get(code), show_code(code)
        if label is None:
            self.problem(row, "code", f"{shown} was never printed here. Leave the cell empty.")
        elif label.kind != Code.Kind.BLANK:
            self.problem(row, "code", f"{shown} is in use already; take another blank label.")
        elif label.run is None:
            self.problem(row, "code", f"The roll of {shown} was thrown away; take another label.")
        else:
            self.once(row, "code", code, shown=shown)
        return code

    def old_code_of(self, row: Row) -> str:
        """Return the mark under which a row's thing was known before, or ""."""
        text: str = row["old_code"]
        if not text:
            return ""
        folded = fold_old_code(text)
        if not folded:
            self.problem(row, "old_code", f"{text} has neither letters nor digits.")
        elif folded in self.taken:
            code = show_code(self.taken[folded])
            reason = f"{text} is on something that lives here already: {code}."
            self.problem(
                row, "old_code", f"{reason} Take the row out, or add what tells them apart."
            )
        else:
            self.once(row, "old_code", folded, shown=text)
        return text

    def once(self, row: Row, column: str, value: str, *, shown: str) -> None:
        """Note a value that may stand in one row alone."""
        first = self.seen.setdefault((column, value), row.line)
        if first != row.line:
            self.problem(row, column, f"{shown} stands on line {first} already.")

    def check_day(self, row: Row, column: str, *, earliest: date | None = None) -> None:
        """Note a day that has not come, or is before there was anything."""
        day: Any = row[column]
        try:
            check_day(day, today=self.today, earliest=earliest)
        except InputError as error:
            self.problem(row, column, error.message)
