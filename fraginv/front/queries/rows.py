"""Frags as they stand in lists."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cache
from typing import Any, Final

from django.db.models import Q, QuerySet

from fraginv.base import clock
from fraginv.base.models import Code
from fraginv.base.models.codes import End
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.queries.prepared import Prepared
from fraginv.base.queries.words import things_named
from fraginv.base.rules.codes import CODE_LENGTH, LOOK_ALIKES
from fraginv.base.show import show_pieces
from fraginv.stock.models import Colony, Frag
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.colonies import colony_list
from fraginv.stock.queries.frags import for_sale, free_now, is_stopped
from fraginv.stock.queries.stops import STOPPED
from fraginv.stock.queries.varieties import KIND
from fraginv.stock.rules.cutting import rests_until
from fraginv.trade.queries.prices import retail_prices
from fraginv.trade.rules.prices import Chosen

PAGE = 40
FEW = 100
LAST_CHARACTERS = 3
MOST_CODES = 500
FOR_SALE: Final = "sale"
# What was typed may be larger than what a row can have, or a database take.
LARGEST_ID: Final = 2**63 - 1


@dataclass(frozen=True)
class FragRow:
    """One frag in a list, with what holds beside its stage.

    Its properties are what a row says; they are worked out here because forty rows of
    small steps in a template take longer than all else on a page.
    """

    frag: Frag
    free: int
    flags: list[str] = field(default_factory=list)
    price: Chosen | None = None

    @property
    def place(self) -> str:
        """Return the rack and the hole, nothing where it is not placed."""
        frag = self.frag
        if frag.rack is None:
            return ""
        hole = f" {frag.hole_row}/{frag.hole_column}" if frag.hole_row else ""
        return f"{frag.rack.name}{hole}"

    @property
    def count(self) -> str:
        """Return size and pieces, and how many of a lot are not promised."""
        frag = self.frag
        size = f"size {frag.size}, " if frag.size else ""
        apart = frag.is_lot and self.free != frag.pieces
        free = f", {self.free} not promised" if apart else ""
        return f"{size}{show_pieces(frag.pieces, organisation())}{free}"


@dataclass(frozen=True)
class FragList:
    """One page of frags; ``after`` leads to the next one, None on the last."""

    rows: list[FragRow]
    after: int | None


def flags_of(frag: Frag, *, free: int) -> list[str]:
    """Name what holds beside a frag's stage.

    Args: ``free`` pieces that nobody has at this moment.
    """
    barred = frag.colony is not None and bool(frag.colony.barred_because)
    told = {
        "held": free < frag.pieces,
        "apart": frag.apart,
        "quarantined": frag.quarantined,
        "stop-sale": is_stopped(frag),
        "kept": frag.kept_back,
        "barred": barred,
        "wrong": bool(frag.wrong),
        "fresh": frag.fresh,
    }
    return [flag for flag, holds in told.items() if holds]


def rows_of(frags: Iterable[Frag]) -> list[FragRow]:
    """Return rows of frags that were read by ``listed``."""
    return [
        FragRow(frag, free, flags_of(frag, free=free))
        for frag in frags
        for free in [getattr(frag, "free_now", frag.free)]
    ]


def listed(*, at: datetime | None = None) -> QuerySet[Frag]:
    """Return frags with all that a list shows, the latest first.

    Args: ``at`` is the moment at which pieces are free, now unless given.
    Queries: none until it is read, then 1.
    """
    return (
        Frag.objects.select_related("variety", "colony", "rack")
        .annotate(free_now=free_now(at=at), stopped=STOPPED)
        .order_by("-pk")
    )


@cache
def plain_pages(*, stage: bool, for_sale: bool, later: bool) -> Prepared[Frag]:
    """Return the question for a page of a stage, of what is for sale, or of all that lives."""

    def ask(at: datetime, *values: Any) -> QuerySet[Frag]:
        rest = list(values)
        asked = str(rest.pop(0)) if stage else FOR_SALE if for_sale else ""
        found = listed(at=at).filter(wanted(asked))
        return (found.filter(pk__lt=rest.pop(0)) if later else found)[: PAGE + 1]

    return Prepared(ask, datetime, *([str] if stage else []), *([int] if later else []))


def frag_list(
    *, stage: str = "", variety: int | None = None, text: str = "", after: int | None = None
) -> FragList:
    """Return a page of frags: of a stage, for sale or all living ones, of a variety, with a text.

    Args: ``text`` is how words of a variety's name begin, or how a code begins or ends.
    Queries: 1, and 1 or 2 for a text.
    """
    if variety is None and not text:
        found = plain_page(stage=stage, after=after)
    else:
        frags = listed().filter(wanted(stage))
        if variety is not None:
            frags = frags.filter(variety=variety)
        if text:
            frags = frags.filter(named_or_coded(text))
        if after is not None:
            frags = frags.filter(pk__lt=after)
        found = list(frags[: PAGE + 1])
    more = len(found) > PAGE
    return FragList(rows_of(found[:PAGE]), found[PAGE - 1].pk if more else None)


def plain_page(*, stage: str, after: int | None) -> list[Frag]:
    """Return a page of frags that are asked for by their stage alone, and one more.

    Queries: 1.
    """
    of_stage = stage not in ("", FOR_SALE)
    values: list[str | int] = [stage] if of_stage else []
    if after is not None:
        values.append(min(after, LARGEST_ID))
    pages = plain_pages(stage=of_stage, for_sale=stage == FOR_SALE, later=after is not None)
    return pages.answer(clock.now(), *values)


def wanted(stage: str) -> Q:
    """Return the condition that a frag is at a stage, has a piece for sale, or lives."""
    if stage == FOR_SALE:
        return for_sale() & Q(free_now__gte=1)
    return Q(stage=stage) if stage else LIVES


def named_or_coded(text: str) -> Q:
    """Return the condition that a frag is of a variety so named, else that its code is like it.

    A few varieties are named one by one, so that each is looked up in an index.
    Queries: 1, and 1 or 2 more for what is no name.
    """
    things = things_named(text, kind=KIND)
    found = list(things[: FEW + 1])
    if found:
        return Q(variety__in=found if len(found) <= FEW else things)
    return Q(code__in=[*codes_ending_in(text), *codes_beginning_with(text)])


def codes_beginning_with(text: str) -> list[str]:
    """Return the first codes of frags that begin so.

    Queries: 1, or none for what no code can begin with.
    """
    typed = "".join(text.upper().split()).replace("-", "")
    if not typed.isalnum() or len(typed) > CODE_LENGTH:
        return []
    first, last = typed.ljust(CODE_LENGTH, "0"), typed.ljust(CODE_LENGTH, "Z")
    found = Code.objects.filter(code__range=(first, last), kind=Code.Kind.FRAG).order_by("code")
    return list(found.values_list("code", flat=True)[:MOST_CODES])


def codes_ending_in(text: str) -> list[str]:
    """Return the codes that end in three characters.

    Queries: 1, or none for another number of characters.
    """
    if len(text) != LAST_CHARACTERS or not text.isalnum():
        return []
    end = text.upper().translate(LOOK_ALIKES)
    ending = Code.objects.alias(end=End("code")).filter(end=end)
    return list(ending.values_list("code", flat=True)[:MOST_CODES])


def with_prices(found: FragList) -> FragList:
    """Return a page of frags with what a visitor would pay for a piece of each.

    Queries: 1.
    """
    prices = retail_prices(day=today())
    return replace(found, rows=[replace(row, price=prices.find(row.frag)) for row in found.rows])


@dataclass(frozen=True)
class ColonyRow:
    """One colony in a list; ``rests_until`` only while it rests."""

    colony: Colony
    living: int
    rests_until: date | None


def resting_until(colony: Colony) -> date | None:
    """Return the day on which a colony may be cut again, or None where it may be now."""
    until = rests_until(colony.last_cut_on, rest_days=colony.rest_days)
    return until if until is not None and today() < until else None


def colony_rows(*, text: str, most: int) -> list[ColonyRow]:
    """Return colonies by the variety's name, with how many living frags each has.

    Queries: 1.
    """
    return [
        ColonyRow(colony, getattr(colony, "living", 0), resting_until(colony))
        for colony in colony_list(text=text, most=most)
    ]
