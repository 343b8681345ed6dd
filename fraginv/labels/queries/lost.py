"""Labels that are lost."""

from collections.abc import Sequence
from dataclasses import dataclass

from fraginv.base.queries.portions import Portion, portion_of
from fraginv.labels.models import LostLabel
from fraginv.labels.queries.labels import labels_for
from fraginv.labels.rules.parts import Label

LOST_ON_A_PAGE = 100


@dataclass(frozen=True)
class LostRow:
    """One label that is lost, and what it says."""

    lost: LostLabel
    label: Label


@dataclass(frozen=True)
class LostPage:
    """A page of the list of lost labels."""

    rows: Sequence[LostRow]
    portion: Portion[LostLabel]


def lost_page(*, after: int | None = None, size: int = LOST_ON_A_PAGE) -> LostPage:
    """Return a page of the labels that are lost, those noted first at its head.

    Queries: 5 at most, and 1 more from the second page on.
    """
    waiting = LostLabel.objects.filter(settled_at__isnull=True).select_related("code", "by")
    portion = portion_of(waiting, order=("pk",), size=size, after=after)
    labels = labels_for([lost.code for lost in portion.rows])
    rows = [LostRow(*pair) for pair in zip(portion.rows, labels, strict=True)]
    return LostPage(rows, portion)


def lost_codes(*, most: int) -> list[str]:
    """Return the codes whose label is lost, at most so many, those noted first at the head.

    Queries: 1.
    """
    waiting = LostLabel.objects.filter(settled_at__isnull=True).order_by("pk")
    return list(waiting.values_list("code_id", flat=True)[:most])


def lost_count() -> int:
    """Return how many labels are lost.

    Queries: 1.
    """
    return LostLabel.objects.filter(settled_at__isnull=True).count()
