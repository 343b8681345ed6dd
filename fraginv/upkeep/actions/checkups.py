"""Keeping what the nightly verify found."""

from collections.abc import Iterable
from itertools import islice
from typing import Final

from fraginv.base import clock
from fraginv.base.rules.differences import Difference
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.models import Checkup

TOLD: Final = 20
KEPT: Final = 60


def record_checkup(found: Iterable[Difference]) -> Checkup:
    """Write down what verify found, and forget what it found long ago.

    The differences are read before anything is written, so that no lock is held meanwhile.
    """
    differences = iter(found)
    told = [str(one) for one in islice(differences, TOLD)]
    return write_checkup(len(told) + sum(1 for _ in differences), told=told)


@one_transaction
def write_checkup(count: int, *, told: list[str]) -> Checkup:
    """Write one row, and keep the newest few."""
    made = Checkup.objects.create(at=clock.now(), count=count, told=told)
    kept = Checkup.objects.values_list("pk", flat=True)[:KEPT]
    Checkup.objects.exclude(pk__in=list(kept)).delete()
    return made
