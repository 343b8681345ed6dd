"""From whom corals came, to be offered by name."""

from fraginv.stock.models import Arrival, Colony

LATEST = 200
MOST = 50


def suppliers_known() -> list[str]:
    """Return the names from whom corals came lately, or whose they are, by name.

    Queries: 2, each of the latest rows alone.
    """
    colonies = Colony.objects.order_by("-pk").values_list("supplier__name", "owner__name")
    arrivals = Arrival.objects.order_by("-day", "-pk").values_list("supplier__name", flat=True)
    found = [name for pair in colonies[:LATEST] for name in pair]
    found += list(arrivals[:LATEST])
    return sorted({name for name in found if name})[:MOST]
