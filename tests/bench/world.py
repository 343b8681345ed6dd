"""A big house of invented rows, written fast, for the benches of data.

Rows go straight into the project's own tables and are such that its queries,
and ``verify``, run on them: each frag has its events, each sold one a claim, a
line and a sale, each paper its entry in the chain. Everything is worked out
from the row's number; the same size gives the same house.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, Final

from django.db import connection
from django.db.models import Model

TODAY: Final = date(2026, 11, 25)
NOON: Final = datetime(2026, 11, 25, 17, tzinfo=UTC)
MONTHS: Final = 120
FIRST_DAY: Final = date(2016, 12, 1)
DAYS: Final = (TODAY - FIRST_DAY).days
WORDS: Final = (
    *("Harbour", "Cinder", "Lantern", "Meadow", "Copper", "Willow", "Thimble", "Orchard"),
    *("Pewter", "Saffron", "Bramble", "Juniper", "Marble", "Quarry", "Velvet", "Tinder"),
    *("Heather", "Lichen", "Cobble", "Drizzle", "Ember", "Fennel", "Gable", "Hollow"),
)


@dataclass(frozen=True)
class World:
    """How big a house is; what is sold in ten years is as many lines as it had frags.

    ``living`` of the frags stand in the troughs; the others were sold or lost.
    ``told`` is whether events carry their digest, which takes a while to make; ``alive``
    how many stand there, where it is not one in fifty.
    """

    frags: int
    told: bool = False
    alive: int = 0

    @property
    def living(self) -> int:
        """Return how many frags stand in the troughs at the end."""
        return self.alive or max(400, self.frags // 50)

    @property
    def varieties(self) -> int:
        """Return how many varieties have a name."""
        return max(200, self.frags // 50)

    @property
    def racks(self) -> int:
        """Return how many racks there are, about forty frags in each."""
        return self.living // 40

    def trough(self, rack: int) -> int:
        """Return the trough of a rack, both counted from 1; eight stand in each."""
        return (rack - 1) // 8 + 1

    def system(self, trough: int) -> int:
        """Return the water of a trough: in a house that is not told, some stand in quarantine."""
        return 2 if trough % 31 == 5 and not self.told else 1

    @property
    def cuttings(self) -> int:
        """Return how many sittings at the bench there were."""
        return self.frags // 20

    @property
    def sales(self) -> int:
        """Return how many sales there were, of two lines each."""
        return self.frags // 2

    @property
    def customers(self) -> int:
        """Return how many customers are known by name."""
        return max(100, self.frags // 100)

    @property
    def bills(self) -> int:
        """Return how many bills came."""
        return max(240, self.frags // 50)

    def day(self, frag: int) -> date:
        """Return the day on which a frag left, or its line was sold."""
        return FIRST_DAY + timedelta(days=frag * DAYS // self.frags)

    def is_living(self, frag: int) -> bool:
        """Tell whether a frag, counted from 0, stands in the troughs: the latest, and a few old."""
        return frag >= self.frags - self.living or frag % 1_999 == 0

    def is_sold(self, frag: int) -> bool:
        """Tell whether a frag was sold; one in thirteen of the others was lost."""
        return not self.is_living(frag) and frag % 13 != 0

    def variety(self, frag: int) -> int:
        """Return the variety of a frag: that of its cutting's colony."""
        return (frag // 20) % self.varieties + 1


def write(model: type[Model], columns: str, rows: Iterable[Sequence[Any]]) -> None:
    """Write rows into a model's table as fast as its engine takes them.

    What the rows do not say is what the model says of a row that is made.
    """
    table, names = model._meta.db_table, columns.split()
    usual = usual_values(model, names)
    names += usual
    rest = tuple(usual.values())
    rows = ((*row, *rest) for row in rows)
    listed = ", ".join(f'"{name}"' for name in names)
    connection.ensure_connection()
    raw = connection.connection
    if connection.vendor == "postgresql":
        with raw.cursor() as cursor, cursor.copy(f'COPY "{table}" ({listed}) FROM STDIN') as copy:
            for row in rows:
                copy.write_row(row)
        return
    marks = ", ".join("?" * len(names))
    raw.executemany(f'INSERT INTO "{table}" ({listed}) VALUES ({marks})', rows)


def usual_values(model: type[Model], names: Sequence[str]) -> dict[str, Any]:
    """Return the columns that are not named and may not be empty, with their usual values."""
    return {
        str(field.column): json.dumps(value) if isinstance(value, dict) else value
        for field in model._meta.concrete_fields
        if field.column not in names and not field.null and not field.primary_key
        for value in [field.get_default()]
    }


def moment(day: date) -> str:
    """Write noon of a day as both engines read it; the columns are in UTC."""
    return f"{day.isoformat()} 17:00:00" + ("+00" if connection.vendor == "postgresql" else "")


def month(day: date) -> int:
    """Return a day's month as a number."""
    return day.year * 100 + day.month
