"""What is wrong with a table that was handed in."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from fraginv.base.errors import InputError

# More than this many would not be read on a screen; the count tells the rest.
SHOWN_AT_MOST = 50


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, with where it stands.

    Attributes: ``line`` of the file or row of the sheet, from 1 (0 for the
    file as a whole); ``column`` its heading ("" for the whole line).
    """

    line: int
    column: str
    reason: str

    def __str__(self) -> str:
        place = f"line {self.line}" if self.line else ""
        where = ", ".join(part for part in (place, self.column) if part)
        return f"{where}: {self.reason}" if where else self.reason


class TableErrors(InputError):
    """A table cannot be loaded; ``problems`` has every reason, in order of lines."""

    code = "table"

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = sorted(problems, key=lambda problem: problem.line)
        self.count = len(self.problems)
        super().__init__(
            "\n".join([self.heading(), *self.lines(most=SHOWN_AT_MOST)]),
            count=self.count,
            problems=[asdict(problem) for problem in self.problems],
        )

    def heading(self) -> str:
        """Return one sentence with the number of problems."""
        many = "one problem" if self.count == 1 else f"{self.count} problems"
        return f"The table has {many}; nothing was loaded."

    def lines(self, *, most: int | None = None) -> list[str]:
        """Return a line for each problem, and how many more there are past ``most``."""
        shown = [str(problem) for problem in self.problems[:most]]
        left = self.count - len(shown)
        return [*shown, f"and {left} more"] if left else shown


@dataclass(frozen=True, slots=True)
class Unfit:
    """A cell that cannot be taken, whatever its column, and why."""

    reason: str


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row as it stands in the file: its line and the texts of its cells."""

    line: int
    cells: Sequence[str | Unfit]

    def is_blank(self) -> bool:
        """Tell whether nothing stands in the row."""
        return not any(isinstance(cell, Unfit) or cell.strip() for cell in self.cells)
