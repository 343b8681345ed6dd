"""What tables may name: varieties, racks by their path or code."""

from fraginv.base.rules.known import Known, fold
from fraginv.stock.models import Variety


def known_varieties() -> Known[Variety]:
    """Return all varieties by their names.

    Queries: 1.
    """
    return Known(
        {fold(variety.name): (variety.name, variety) for variety in Variety.objects.all()},
        what="a known variety",
        mend="Mend the name, or load the variety first.",
    )
