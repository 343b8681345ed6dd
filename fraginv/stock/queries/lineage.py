"""From which colonies one descends, and which descend from it, to any depth.

Colonies alone are read, by their mothers; frags in between are not.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import connection
from django.db.models import QuerySet

from fraginv.stock.models import Colony
from fraginv.stock.queries.frags import living_of

UP = """
    WITH RECURSIVE line(id, mother_id, depth) AS (
        SELECT id, mother_id, 0 FROM stock_colony WHERE id = %s
        UNION
        SELECT above.id, above.mother_id, line.depth + 1
        FROM line JOIN stock_colony above ON above.id = line.mother_id
    )
    SELECT id, mother_id FROM line ORDER BY depth
"""
DOWN = """
    WITH RECURSIVE line(id, mother_id, depth) AS (
        SELECT id, mother_id, 0 FROM stock_colony WHERE id = %s
        UNION
        SELECT below.id, below.mother_id, line.depth + 1
        FROM line JOIN stock_colony below ON below.mother_id = line.id
    )
    SELECT id, mother_id, depth FROM line ORDER BY depth, id
"""
COUNT = """
    WITH RECURSIVE line(top, id) AS (
        SELECT id, id FROM stock_colony WHERE id IN ({marks})
        UNION
        SELECT line.top, below.id
        FROM line JOIN stock_colony below ON below.mother_id = line.id
    )
    SELECT top, COUNT(*) - 1 FROM line GROUP BY top
"""


@dataclass(frozen=True)
class Kin:
    """A colony of a line, with how many living frags it has and how many descend from it."""

    colony: Colony
    living: int
    below: int


def line_above(colony_id: int) -> list[int]:
    """Return a colony's id and those of the colonies it descends from, the nearest first.

    Queries: 1.
    """
    with connection.cursor() as cursor:
        cursor.execute(UP, [colony_id])
        return [row[0] for row in cursor.fetchall()]


def line_below(colony_id: int) -> dict[int, int | None]:
    """Return the mother of a colony and of each that descends from it, mothers first.

    Queries: 1.
    """
    with connection.cursor() as cursor:
        cursor.execute(DOWN, [colony_id])
        return {row[0]: row[1] for row in cursor.fetchall()}


def counts_below(colony_ids: Iterable[int]) -> dict[int, int]:
    """Return for each colony how many descend from it, to any depth.

    Queries: 1, or none for no colony.
    """
    wanted = list(colony_ids)
    if not wanted:
        return {}
    marks = ", ".join(["%s"] * len(wanted))
    with connection.cursor() as cursor:
        cursor.execute(COUNT.format(marks=marks), wanted)
        return dict(cursor.fetchall())


def kin(colonies: Iterable[Colony]) -> list[Kin]:
    """Return colonies that were read with ``living``, each with how many descend from it.

    Queries: 1, and that of the colonies.
    """
    rows = list(colonies)
    below = counts_below(row.pk for row in rows)
    return [Kin(row, getattr(row, "living", 0), below.get(row.pk, 0)) for row in rows]


def ancestors(colony: Colony) -> list[Colony]:
    """Return the colonies that one descends from, the nearest first.

    Queries: 2.
    """
    ids = line_above(colony.pk)[1:]
    known = {row.pk: row for row in Colony.objects.select_related("variety").filter(pk__in=ids)}
    return [known[one] for one in ids if one in known]


def daughters(colony: Colony) -> QuerySet[Colony]:
    """Return the colonies that were kept from a colony's frags, with ``living``, by their ids.

    Queries: none until it is read, then 1.
    """
    rows = Colony.objects.filter(mother=colony).select_related("variety", "from_frag")
    return rows.annotate(living=living_of("colony")).order_by("pk")
