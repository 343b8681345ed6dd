"""Lists of colonies by the variety's name, narrowed by anything at once, and as a table."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db.models import Exists, OuterRef, Q, QuerySet

from fraginv.base.queries.organisation import today
from fraginv.base.queries.portions import Portion, beyond, place_of
from fraginv.base.queries.words import things_named
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.csv_text import Cell
from fraginv.front.queries.asked_things import Said
from fraginv.front.queries.rows import codes_ending_in, resting_until
from fraginv.front.rules.colony_filters import WORDS, ColonyFilter, filter_words
from fraginv.stock.models import Colony, Variety
from fraginv.stock.queries.colonies import colonies
from fraginv.stock.queries.frags import living_of
from fraginv.stock.queries.papers import LACKS_PAPER
from fraginv.stock.queries.varieties import KIND
from fraginv.taxa.rules import GROUP_NAMES

PAGE: Final = 40
PORTION: Final = 500
ORDER: Final = ("variety__name", "pk")
COLONY_HEADINGS: Final = [
    *("code", "variety", "genus", "species", "group", "state", "left_on", "origin", "here_since"),
    *("supplier", "invoice", "permit", "source_code", "no_paper_because", "paper_missing"),
    *("owner", "barred_because", "rest_days", "most_pieces", "last_cut_on", "rests_until"),
    *("living_frags", "system", "trough", "rack"),
]


@dataclass(frozen=True)
class ColonyRow:
    """One colony in a list; ``rests_until`` only while it rests."""

    colony: Colony
    living: int
    lacks_paper: bool
    rests_until: date | None


@dataclass(frozen=True)
class ColonyList:
    """One page of colonies; ``after`` leads to the next one, None on the last."""

    rows: Sequence[ColonyRow]
    after: int | None
    is_first: bool


def colony_page_of(asked: ColonyFilter, *, after: int | None = None) -> ColonyList:
    """Return a page of the colonies that are asked for.

    Raises: NotFound for a page that is not there.
    Queries: 2; 1 more from the second page on, 1 for what is no name, 1 where rest is asked.
    """
    portion = colony_portion(asked, after=after, size=PAGE)
    return ColonyList([row_of(row) for row in portion.rows], portion.after, portion.is_first)


def colony_portion(asked: ColonyFilter, *, after: int | None, size: int) -> Portion[Colony]:
    """Return so many of the colonies that are asked for, in order of their varieties' names.

    The next colonies are among those of the next varieties that have one; an index by
    name is read as far as it takes to find these, and few rows are sorted.
    """
    wanted = condition(asked)
    place = place_of(Colony.objects.all(), order=ORDER, key=after) if after is not None else None
    having = Colony.objects.filter(wanted, variety=OuterRef("pk"))
    named = Variety.objects.filter(Exists(having))
    if place is not None:
        named = named.filter(name__gte=place[0])
    nearest = list(named.order_by("name").values_list("pk", flat=True)[: size + 2])
    rows = read_whole().filter(wanted, variety__in=nearest)
    if place is not None:
        rows = rows.filter(beyond(ORDER, place=place))
    found = list(rows.order_by(*ORDER)[: size + 1])
    more = len(found) > size
    return Portion(found[:size], found[size - 1].pk if more else None, after is None)


def read_whole() -> QuerySet[Colony]:
    """Return colonies with all that a row or a table says, ``living`` and ``lacking``."""
    lacking = Exists(Colony.objects.filter(LACKS_PAPER, pk=OuterRef("pk")))
    return colonies().select_related("owner").annotate(living=living_of("colony"), lacking=lacking)


def condition(asked: ColonyFilter) -> Q:
    """Return the condition that a colony is asked for.

    Queries: 1 for a text that is no name, 1 where rest is asked for.
    """
    found = Q(state__in=asked.states)
    if asked.text:
        found &= named_or_coded(asked.text)
    if asked.group:
        found &= Q(variety__group=asked.group)
    if asked.origin:
        found &= Q(origin=asked.origin)
    if asked.bar:
        found &= ~Q(barred_because="") if asked.bar == "barred" else Q(barred_because="")
    if asked.owner:
        found &= Q(owner__isnull=asked.owner == "ours")
    if asked.paper:
        found &= LACKS_PAPER
    if asked.rest:
        found &= resting() if asked.rest == "resting" else ~resting()
    return found


def resting() -> Q:
    """Return the condition that a colony rests today.

    Queries: 1.
    """
    found, present = Q(pk__in=[]), today()
    for days in Colony.objects.order_by().values_list("rest_days", flat=True).distinct():
        found |= Q(rest_days=days, last_cut_on__gt=present - timedelta(days=days))
    return Q(last_cut_on__isnull=False) & found


def named_or_coded(text: str) -> Q:
    """Return the condition that a colony is of a variety so named, else that its code ends so.

    Queries: 1, and 1 more for three characters that are no name.
    """
    things = things_named(text, kind=KIND)
    if things[:1]:
        return Q(variety__in=things)
    return Q(code__in=codes_ending_in(text)) | Q(code=text.upper().replace("-", ""))


def row_of(colony: Colony) -> ColonyRow:
    """Return the row of a colony that was read by ``read_whole``."""
    told = vars(colony)
    return ColonyRow(colony, told["living"], told["lacking"], resting_until(colony))


def said_of_colonies(asked: ColonyFilter) -> Iterator[Said]:
    """Yield all by which a list of colonies is narrowed beside its state, in words."""
    if asked.text:
        yield Said(f"“{asked.text}”", ("q",))
    if asked.group:
        yield Said(GROUP_NAMES[asked.group], ("group",))
    for name in WORDS:
        if value := getattr(asked, name):
            yield Said(filter_words(name, value), (name,))


def colony_table(asked: ColonyFilter) -> Iterator[Sequence[Cell]]:
    """Yield the rows of a table of the colonies that are asked for, read in portions.

    Queries: those of a page for each five hundred.
    """
    after: int | None = None
    while True:
        portion = colony_portion(asked, after=after, size=PORTION)
        for colony in portion.rows:
            yield colony_cells(row_of(colony))
        after = portion.after
        if after is None:
            return


def colony_cells(row: ColonyRow) -> list[Cell]:
    """Return what a table says of a colony; terms are left out."""
    colony, variety, rack = row.colony, row.colony.variety, row.colony.rack
    return [
        *(show_code(colony.code_id), variety.name, variety.genus.name, variety.species),
        *(variety.group, colony.state, colony.left_on, colony.origin, colony.acquired_on),
        *(colony.supplier.name if colony.supplier else "", colony.invoice, colony.permit),
        *(colony.source_code, colony.no_paper_because, "yes" if row.lacks_paper else ""),
        *(colony.owner.name if colony.owner else "", colony.barred_because, colony.rest_days),
        *(colony.most_pieces, colony.last_cut_on, row.rests_until, row.living),
        *((rack.trough.system.name, rack.trough.name, rack.name) if rack else ("", "", "")),
    ]
