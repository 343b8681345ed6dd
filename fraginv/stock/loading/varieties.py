"""Bringing in a table of varieties."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.rules.columns import Column, column, text_column, whole_column
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, trial
from fraginv.stock.actions.catalogue import write_varieties
from fraginv.stock.models import Variety
from fraginv.stock.rules.ready import MOST_DAYS, MOST_HEADS
from fraginv.stock.rules.stages import SIZES
from fraginv.stock.rules.typed import read_size
from fraginv.taxa.models import Genus
from fraginv.taxa.queries import genus_named
from fraginv.taxa.rules import GROUPS, fold_name, normalise_group

LONGEST_NAME, LONGEST_GENUS, LONGEST_SPECIES, LONGEST_NOTE = 80, 60, 60, 1000
LONGEST_CARE: Final = 2000
SIZES_HINT: Final = f"one of: {', '.join(SIZES)}"
DAYS: Final = ("heal_days", "ready_days", "see_days")


def columns() -> list[Column]:
    """Return the columns of the table; the group comes from the genus unless it is given."""
    return [
        text_column("name", longest=LONGEST_NAME),
        text_column("genus", longest=LONGEST_GENUS),
        text_column("species", longest=LONGEST_SPECIES, required=False),
        column(
            "group",
            normalise_group,
            hint=f"one of: {', '.join(GROUPS)}",
            required=False,
            empty="",
        ),
        text_column("note", longest=LONGEST_NOTE, required=False, line_breaks=True),
        text_column("care", longest=LONGEST_CARE, required=False, line_breaks=True),
        *(whole_column(name, least=1, most=MOST_DAYS, required=False) for name in DAYS),
        column("ready_size", read_size, hint=SIZES_HINT, required=False, empty=""),
        whole_column("ready_heads", least=1, most=MOST_HEADS, required=False),
    ]


@one_transaction
def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    ``dry_run`` does the same and takes it back.
    Raises: TableErrors naming each row whose name is taken or there twice, or
        whose genus is unknown.
    Queries: 2, 1 for each 500 rows, and 2 for each genus that is unknown.
    """
    made = varieties_in(rows)
    with trial(dry_run):
        write_varieties(made)
    return LoadResult(len(made))


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 2, and 2 for each genus that is unknown.
    """
    return LoadResult(len(varieties_in(rows)))


def varieties_in(rows: Sequence[Row]) -> list[Variety]:
    """Return the varieties of rows, to be written.

    Raises: TableErrors.
    Queries: 2, and 2 for each genus that is unknown.
    """
    reading = Reading(taken={fold_name(name): 0 for name in known_names()}, genera=genera_by_name())
    made = [reading.variety_of(row) for row in rows]
    if reading.problems:
        raise TableErrors(reading.problems)
    return [variety for variety in made if variety is not None]


def known_names() -> list[str]:
    """Return the names of all varieties.

    Queries: 1.
    """
    return list(Variety.objects.values_list("name", flat=True))


def genera_by_name() -> dict[str, Genus]:
    """Return every genus by each of its names, folded; a current name wins over others.

    Queries: 1.
    """
    found: dict[str, Genus] = {}
    genera = list(Genus.objects.all())
    for genus in genera:
        for name in genus.names:
            found.setdefault(fold_name(name), genus)
    return found | {fold_name(genus.name): genus for genus in genera}


@dataclass
class Reading:
    """What is known while rows are turned into varieties, and what is wrong with them.

    Attributes: ``taken`` names with the line they stand on, 0 for the table's own.
    """

    taken: dict[str, int]
    genera: dict[str, Genus]
    unknown: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def variety_of(self, row: Row) -> Variety | None:
        """Return a row's variety without saving it, or None and note what is wrong."""
        name = " ".join(row["name"].split())
        self.take_name(name, line=row.line)
        genus = self.genera.get(fold_name(row["genus"]))
        if genus is None:
            self.problems.append(Problem(row.line, "genus", self.why_unknown(row["genus"])))
            return None
        group = row["group"] or genus.group
        return Variety(
            name=name,
            genus=genus,
            species=row["species"],
            group=group,
            note=row["note"],
            care=row["care"],
            ready_size=row["ready_size"],
            ready_heads=row["ready_heads"],
            **{days: row[days] for days in DAYS},
        )

    def take_name(self, name: str, *, line: int) -> None:
        """Note a name, and what is wrong where it is taken."""
        before = self.taken.setdefault(fold_name(name), line)
        if before == 0:
            reason = f"there is a variety {name} already; take the row out."
            self.problems.append(Problem(line, "name", reason))
        elif before != line:
            reason = f"{name} stands on line {before} already; take one of them out."
            self.problems.append(Problem(line, "name", reason))

    def why_unknown(self, text: str) -> str:
        """Say that a genus is unknown, and what looks like it.

        Queries: 2 for each text that is new.
        """
        if text not in self.unknown:
            try:
                genus_named(text)
            except (NotFound, InputError) as error:
                self.unknown[text] = error.message
        return self.unknown.get(text, "the genus is unknown.")
