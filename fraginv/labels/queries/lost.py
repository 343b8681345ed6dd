"""Labels that are lost."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import CharField, F, Q, QuerySet
from django.db.models.functions import Coalesce

from fraginv.base.models import OldCode
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.labels.models import LostLabel
from fraginv.labels.queries.labels import code_since, labels_for, with_codes_now
from fraginv.labels.rules.parts import Label

LOST_ON_A_PAGE = 100
# Codes, or a question for them.
Codes = Collection[str] | QuerySet[Any, Any]
# The code for which a lost label waits to be printed.
NOW = Coalesce(code_since("code"), F("code"), output_field=CharField())


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

    A frag that was relabelled since stands there with the code that it has now.
    Queries: 5 at most, 1 more from the second page on, and 1 more where a frag was relabelled.
    """
    lost = LostLabel.objects.filter(settled_at__isnull=True).select_related("code", "by")
    waiting: QuerySet[LostLabel] = lost.annotate(since=code_since("code"))
    portion = portion_of(waiting, order=("pk",), size=size, after=after)
    labels = labels_for(with_codes_now([(row.code, vars(row)["since"]) for row in portion.rows]))
    rows = [LostRow(*pair) for pair in zip(portion.rows, labels, strict=True)]
    return LostPage(rows, portion)


def lost_codes(*, most: int) -> list[str]:
    """Return the codes whose label is lost, at most so many, those noted first at the head.

    Queries: 1.
    """
    waiting = LostLabel.objects.filter(settled_at__isnull=True).order_by("pk")
    return list(waiting.annotate(now=NOW).values_list("now", flat=True)[:most])


def waiting_for(codes: Codes) -> QuerySet[LostLabel]:
    """Return the lost labels that labels of these codes stand for.

    A label lost before its frag was relabelled stands under the code that the frag had then.
    Queries: none until it is read, then 1.
    """
    before = OldCode.objects.filter(code__in=codes).values("folded")
    renamed = Q(since__isnull=False, code__in=before)
    waiting = LostLabel.objects.filter(settled_at__isnull=True)
    return waiting.annotate(since=code_since("code")).filter(Q(code__in=codes) | renamed)


def now_waiting(codes: Codes) -> set[str]:
    """Return those of some codes of which the label is lost.

    Queries: 1.
    """
    waiting = waiting_for(codes).annotate(now=NOW)
    return set(waiting.values_list("now", flat=True))


def lost_count() -> int:
    """Return how many labels are lost.

    Queries: 1.
    """
    return LostLabel.objects.filter(settled_at__isnull=True).count()
