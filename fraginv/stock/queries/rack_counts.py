"""Reading counts of racks that are under way."""

from fraginv.stock.models import Frag, Rack, RackCount
from fraginv.stock.queries.racks import stands_in
from fraginv.stock.rules.counts import Gap, gaps_of


def open_count(rack: Rack, *, by: int) -> RackCount | None:
    """Return what a person has counted of a rack so far, or None.

    Queries: 1.
    """
    return RackCount.objects.filter(rack=rack.pk, by=by).first()


def there_of(count: RackCount) -> dict[int, int]:
    """Return how many pieces of each frag were found so far."""
    return {int(frag): int(pieces) for frag, pieces in count.there.items()}


def expected_in(rack: Rack) -> dict[int, int]:
    """Return how many pieces of each frag should stand in a rack.

    Queries: 1.
    """
    return dict(Frag.objects.filter(stands_in(rack)).values_list("pk", "pieces"))


def gaps_in(rack: Rack, *, there: dict[int, int]) -> list[Gap]:
    """Return where a count of a rack differs from what is written down now.

    Queries: 1.
    """
    return gaps_of(expected_in(rack), there=there)
