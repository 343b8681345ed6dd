"""Lists of frags: of a stage alone, or narrowed by anything at once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from typing import Any, Final

from django.db.models import F, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from fraginv.base import clock
from fraginv.base.queries.looking import BOUND, Looked, look
from fraginv.base.queries.organisation import today
from fraginv.base.queries.prepared import Prepared
from fraginv.front.queries.frag_parts import plan_of
from fraginv.front.queries.rows import PAGE, FragRow, listed, rows_of
from fraginv.front.rules.frag_filters import FOR_SALE, FragFilter
from fraginv.stock.models import Frag
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.frags import for_sale
from fraginv.stock.rules.stages import Stage
from fraginv.trade.queries.prices import retail_prices

# What was typed may be larger than what a row can have, or a database take.
LARGEST_ID: Final = 2**63 - 1


@dataclass(frozen=True)
class FragList:
    """One page of frags; ``after`` leads to the next one, None on the last.

    ``partly`` is whether the page ends before all frags were looked at.
    """

    rows: Sequence[FragRow]
    after: int | None
    is_first: bool = True
    partly: bool = False


def frag_list(asked: FragFilter, *, after: int | None = None) -> FragList:
    """Return a page of the frags that are asked for, the latest first.

    Args: ``after`` the id of the last frag on the page before.
    Raises: NotFound for a frag that is not there, where the list is in the order of days.
    Queries: 1 for a stage alone, and 1 more where nothing is for sale.
        Else 2 and those of ``plan_of``, 1 more from the second page on where an age is asked.
    """
    found = plain_page(asked.stage, after=after) if asked.is_plain else narrowed(asked, after=after)
    return FragList(rows_of(found.rows), found.after, found.is_first, found.partly)


def narrowed(asked: FragFilter, *, after: int | None, size: int = PAGE) -> Looked[Frag]:
    """Return a page of frags that are asked for by more than their stage.

    Raises: NotFound as ``frag_list``.
    Queries: as ``frag_list``.
    """
    plan = plan_of(asked)
    return look(listed(), parts=plan.parts, order=plan.order, size=size, after=after)


def plain_page(stage: str, *, after: int | None) -> Looked[Frag]:
    """Return a page of frags that are asked for by their stage alone.

    Queries: 1, and 1 more where nothing is for sale.
    """
    of_stage = stage not in ("", FOR_SALE)
    values: list[str | int] = [stage] if of_stage else []
    if after is not None:
        values.append(min(after, LARGEST_ID))
    pages = plain_pages(stage=of_stage, sale=stage == FOR_SALE, later=after is not None)
    found = pages.answer(clock.now(), *values)
    if len(found) > PAGE:
        return Looked(found[:PAGE], found[PAGE - 1].pk, after is None)
    floor = floor_of(found, after=after) if stage == FOR_SALE else None
    return Looked(found, floor, after is None, partly=floor is not None)


def floor_of(found: Sequence[Frag], *, after: int | None) -> int | None:
    """Return the frag as far as which a page of what is for sale was looked for, None for all.

    Queries: none, or 1 where nothing was found that brought it along.
    """
    if found:
        return getattr(found[0], "floor", 0) or None
    return ready_at_bound(after=after).first()


@cache
def plain_pages(*, stage: bool, sale: bool, later: bool) -> Prepared[Frag]:
    """Return the question for a page of a stage, of what is for sale, or of all that lives.

    What is for sale is looked for as far as the bound, as little of what is ready may be.
    """

    def ask(at: datetime, *values: Any) -> QuerySet[Frag]:
        rest = list(values)
        asked = str(rest.pop(0)) if stage else FOR_SALE if sale else ""
        after = rest.pop(0) if later else None
        frags = listed(at=at)
        if sale:
            floor = Coalesce(Subquery(ready_at_bound(after=after)), Value(0))
            frags = frags.annotate(floor=floor).filter(pk__gte=F("floor"))
        found = frags.filter(wanted(asked))
        return (found.filter(pk__lt=after) if later else found)[: PAGE + 1]

    return Prepared(ask, datetime, *([str] if stage else []), *([int] if later else []))


def wanted(stage: str) -> Q:
    """Return the condition that a frag is at a stage, has a piece for sale, or lives."""
    if stage == FOR_SALE:
        return for_sale() & Q(free_now__gte=1)
    return Q(stage=stage) if stage else LIVES


def ready_at_bound(*, after: int | None) -> QuerySet[Frag, int]:
    """Return the id of the frag at the bound among those that are ready, if there are as many.

    Queries: none until it is read, then 1.
    """
    ready = Frag.objects.filter(stage=Stage.READY.value).order_by("-pk")
    later = ready if after is None else ready.filter(pk__lt=after)
    return later.values_list("pk", flat=True)[BOUND : BOUND + 1]


def with_prices(found: FragList) -> FragList:
    """Return a page of frags with what a visitor would pay for a piece of each.

    Queries: 1.
    """
    prices = retail_prices(day=today())
    return replace(found, rows=[replace(row, price=prices.find(row.frag)) for row in found.rows])
