"""What the crew's page of a colony shows, and the page of its lineage."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from fraginv.base.models import Party
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.cautions import Caution
from fraginv.base.rules.codes import show_code
from fraginv.front.queries.rows import FragRow, listed, resting_until, rows_of
from fraginv.front.rules.colony_story import Known, tell_event
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import photos_of
from fraginv.stock.models import (
    Bar,
    Colony,
    ColonyEvent,
    ColonyPaper,
    Cutting,
    Frag,
    Rack,
    StopSale,
)
from fraginv.stock.queries.bars import bars_over
from fraginv.stock.queries.cautions import paper_cautions, poison_cautions
from fraginv.stock.queries.colonies import cuttings_of
from fraginv.stock.queries.lineage import Kin, ancestors, counts_below, daughters, kin
from fraginv.stock.queries.papers import lacks_paper, papers_of
from fraginv.stock.queries.stops import stops_on
from fraginv.stock.rules.colonies import STATES, WHOLE_SHARE, ColonyKind

SHOWN = 40
PHOTOS = 6
CUTTINGS = 12
EVENTS = 20
DAUGHTERS = 6
DAUGHTERS_ON_A_PAGE = 40
# Of a long line only the nearest and the first are named on the colony's page.
LINE = 6


@dataclass(frozen=True)
class StoryLine:
    """One thing that happened to a colony, in words; ``path`` leads to a frag it names."""

    day: date
    at: datetime
    text: str
    by: str


@dataclass(frozen=True)
class Lineage:
    """Colonies above, the nearest first, and those kept from its frags.

    ``below`` counts all that descend from it, to any depth.
    """

    above: Sequence[Colony]
    daughters: Sequence[Kin]
    below: int
    more: bool

    @property
    def near(self) -> Sequence[Colony]:
        """Return the nearest colonies above."""
        return self.above[:LINE]

    @property
    def further(self) -> int:
        """Return how many colonies above are not named."""
        return max(len(self.above) - LINE, 0)


@dataclass(frozen=True)
class ColonyPage:
    """All that the crew sees of a colony."""

    colony: Colony
    rests_until: date | None
    bars: Sequence[Bar]
    stops: Sequence[StopSale]
    lacks_paper: bool
    papers: Sequence[ColonyPaper]
    lineage: Lineage
    poisons: Sequence[Caution]
    cautions: Sequence[Caution]
    cuttings: Sequence[Cutting]
    frags: Sequence[FragRow]
    photos: Sequence[Photo]
    story: Sequence[StoryLine]

    @property
    def state(self) -> str:
        """Return what became of it, in words."""
        return STATES[self.colony.state]

    @property
    def share(self) -> Decimal | None:
        """Return the owner's share of what its frags bring, as a fraction."""
        share = self.colony.owner_share
        return None if share is None else Decimal(share) / WHOLE_SHARE


def colony_page(colony: Colony) -> ColonyPage:
    """Return what the crew sees of a colony that was read by its code.

    Queries: 11; 1 more each where it has bars, kept colonies, colonies above, and for
        racks, parties, frags, papers and bars that its story names; and those of
        ``paper_cautions``.
    """
    genus = colony.variety.genus
    living = listed().filter(colony=colony, pieces__gte=1)
    return ColonyPage(
        colony=colony,
        rests_until=resting_until(colony),
        bars=bars_over(colony) if colony.barred_because else [],
        stops=list(stops_on(colony)),
        lacks_paper=lacks_paper(colony),
        papers=list(papers_of(colony)),
        lineage=lineage_of(colony),
        poisons=poison_cautions(genus),
        cautions=paper_cautions(genus, species=colony.variety.species),
        cuttings=list(cuttings_of(colony)[:CUTTINGS]),
        frags=rows_of(living[:SHOWN]),
        photos=list(photos_of(colony)[:PHOTOS]),
        story=story_of(colony),
    )


def lineage_of(colony: Colony) -> Lineage:
    """Return where a colony stands among its kin.

    Queries: 2, and 2 more where it has colonies above and 1 where it has some below.
    """
    rows = list(daughters(colony)[: DAUGHTERS + 1])
    above = ancestors(colony) if colony.mother_id else []
    below = counts_below([colony.pk])[colony.pk] if rows else 0
    found = kin(rows[:DAUGHTERS])
    return Lineage(above, found, below, len(rows) > DAUGHTERS)


@dataclass(frozen=True)
class LineagePage:
    """A colony's whole line: all above it, and a page of those kept from its frags."""

    colony: Colony
    above: Sequence[Colony]
    below: int
    portion: Portion[Colony]
    kin: Sequence[Kin]


def lineage_page(colony: Colony, *, after: int | None) -> LineagePage:
    """Return a colony's line; of those kept from its frags a page, each with its own count.

    Queries: 5, and 1 more from the second page on.
    """
    portion = portion_of(daughters(colony), order=["pk"], size=DAUGHTERS_ON_A_PAGE, after=after)
    return LineagePage(
        colony=colony,
        above=ancestors(colony),
        below=counts_below([colony.pk])[colony.pk],
        portion=portion,
        kin=kin(portion.rows),
    )


def story_of(colony: Colony) -> list[StoryLine]:
    """Return the latest that happened to a colony, the last first.

    Queries: 1, and 1 each for racks, parties, frags, papers and bars that it names.
    """
    latest = ColonyEvent.objects.filter(colony=colony).select_related("by").order_by("-pk")
    events = list(latest[:EVENTS])
    known = known_in(events)
    return [
        StoryLine(
            event.day, event.at, tell_event(event.kind, event.body, known=known), event.by.name
        )
        for event in events
    ]


def known_in(events: Iterable[ColonyEvent]) -> Known:
    """Return the names of what events hold ids of.

    Queries: 1 for each kind of thing that is named.
    """
    bodies = [(ColonyKind(event.kind), event.body) for event in events]
    racks = ids(body.get("rack") for kind, body in bodies if kind == ColonyKind.MOVED)
    parties = ids(body.get("to") for _, body in bodies)
    parties |= ids(body.get("was", {}).get("supplier") for _, body in bodies)
    frags = ids(body.get("frag") for _, body in bodies)
    papers = ids(body.get("paper") for _, body in bodies)
    bars = ids(body.get("bar") for _, body in bodies)
    trough = Rack.objects.select_related("trough")
    return Known(
        racks={rack.pk: str(rack) for rack in trough.filter(pk__in=racks)} if racks else {},
        parties=named(Party, parties, "name"),
        frags={pk: show_code(code) for pk, code in named(Frag, frags, "code").items()},
        papers=named(ColonyPaper, papers, "title"),
        bars=bars_named(bars),
    )


def ids(found: Iterable[Any]) -> set[int]:
    """Return what is an id."""
    return {one for one in found if isinstance(one, int)}


def named(model: Any, wanted: set[int], column: str) -> dict[int, str]:
    """Return a column of rows by their ids.

    Queries: 1, or none for no row.
    """
    if not wanted:
        return {}
    return dict(model.objects.filter(pk__in=wanted).values_list("pk", column))


def bars_named(wanted: set[int]) -> dict[int, tuple[str, str, str]]:
    """Return kind, reason and why it was lifted of each bar.

    Queries: 1, or none for no bar.
    """
    if not wanted:
        return {}
    rows = Bar.objects.filter(pk__in=wanted).values_list("pk", "kind", "reason", "lifted_because")
    return {pk: (kind, reason, lifted) for pk, kind, reason, lifted in rows}
