"""Reading bars, and what they touch."""

from collections.abc import Iterable, Iterator

from django.db.models import QuerySet, Sum

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.stock.models import Bar, Claim, Colony
from fraginv.stock.queries.lineage import line_above
from fraginv.stock.rules.colonies import effective_bars
from fraginv.stock.rules.holds import ClaimKind


def open_bars(colony_ids: Iterable[int]) -> QuerySet[Bar]:
    """Return the bars of colonies' own that hold now.

    Queries: none until it is read, then 1.
    """
    return Bar.objects.filter(colony__in=list(colony_ids), lifted_at__isnull=True)


def bars_over(colony: Colony) -> list[Bar]:
    """Return the bars that hold for a colony, its own first, then those it inherits.

    Queries: 2.
    """
    line = line_above(colony.pk)
    rows = open_bars(line).select_related("colony__variety", "by")
    return sorted(rows, key=lambda bar: line.index(bar.colony_id))


def get_bar(bar_id: int) -> Bar:
    """Return a bar with its colony.

    Raises: NotFound.
    Queries: 1.
    """
    found = Bar.objects.select_related("colony__variety", "by").filter(pk=bar_id).first()
    if found is None:
        raise NotFound("There is no such bar.")
    return found


def held_under(colony_ids: Iterable[int]) -> int:
    """Return how many pieces of these colonies' frags are put aside for somebody now.

    Queries: 1.
    """
    holds = Claim.objects.filter(frag__colony__in=list(colony_ids), ended_at__isnull=True)
    alive = holds.exclude(kind=ClaimKind.SALE.value).exclude(until__lte=clock.now())
    return alive.aggregate(total=Sum("pieces"))["total"] or 0


def bar_differences() -> Iterator[Difference]:
    """Yield colonies that are barred where no bar says so, or are not where one does.

    And colonies whose mother is not that of the frag they were.
    Queries: 2; all colonies are read.
    """
    own = dict(Bar.objects.filter(lifted_at__isnull=True).values_list("colony", "reason"))
    rows = Colony.objects.select_related("from_frag").order_by("pk")
    told = {row.pk: row for row in rows}
    effective = effective_bars(mothers_first(told), own=own, above="")
    for colony in told.values():
        where, said = show_code(colony.code_id), effective.get(colony.pk, "")
        if colony.barred_because != said:
            bars = said or "no bar"
            yield Difference(where, f"barred because {colony.barred_because!r}, bars say {bars!r}")
        mother = colony.from_frag.colony_id if colony.from_frag else None
        if colony.mother_id != mother:
            yield Difference(where, f"its mother is {colony.mother_id}, its frag's is {mother}")


def mothers_first(colonies: dict[int, Colony]) -> dict[int, int | None]:
    """Return each colony's mother, no colony before its own mother.

    Those of a ring, which no action makes, are left out.
    """
    found: dict[int, int | None] = {}
    waiting = dict(colonies)
    while waiting:
        ready = [
            one for one, row in waiting.items() if row.mother_id is None or row.mother_id in found
        ]
        if not ready:
            return found
        for one in ready:
            found[one] = waiting.pop(one).mother_id
    return found
