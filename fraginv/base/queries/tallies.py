"""Reading sums that are kept."""

from collections.abc import Iterator

from django.db.models import Sum

from fraginv.base.models import Tally
from fraginv.base.rules.days import show_month
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.tallies import NOW, STROKE, Tallies


def tallies_of_month(month: int) -> dict[str, int]:
    """Return all sums of a month, or of what stands now, by name.

    Queries: 1.
    """
    rows = Tally.objects.filter(month=month).order_by("name")
    return dict(rows.values_list("name", "amount"))


def tally_by_month(name: str, *, first: int, last: int) -> dict[int, int]:
    """Return one sum in each month that has it, both ends inside.

    Queries: 1.
    """
    rows = Tally.objects.filter(name=name, month__range=(first, last)).order_by("month")
    return dict(rows.values_list("month", "amount"))


def tally_until(name: str, *, month: int) -> int:
    """Return what a sum of months comes to, up to and with one.

    Queries: 1.
    """
    rows = Tally.objects.filter(name=name, month__range=(NOW + 1, month))
    return int(rows.aggregate(total=Sum("amount", default=0))["total"])


def tally_differences(counted: Tallies, *, under: tuple[str, ...]) -> Iterator[Difference]:
    """Yield sums that are not what they were counted to be; ``under`` are the names compared.

    Queries: 1.
    """
    kept = {
        (month, name): amount
        for month, name, amount in Tally.objects.values_list("month", "name", "amount")
        if name.split(STROKE)[0] in under
    }
    for month, name in sorted({*kept, *counted}):
        there, due = kept.get((month, name), 0), counted[month, name]
        if there != due:
            when = f"month {show_month(month)}" if month else "now"
            yield Difference(f"sum {name}, {when}", f"is kept as {there}, and comes to {due}")
