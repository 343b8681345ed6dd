"""Who bought what a stop-sale concerns, as a list to call."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db.models import F, Q, QuerySet, Sum

from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.tables import Cell
from fraginv.front.queries.lives import PORTION, lives_of, waters_of
from fraginv.front.rules.whereabouts import was_in
from fraginv.stock.models import Colony, StopSale
from fraginv.trade.models import Customer, Sale, SaleLine

WALK_IN = "Walk-in without a name"
HEADINGS = (
    *("name", "contact", "telephone", "mail", "day", "paper", "variety", "size", "pieces", "code"),
)


@dataclass(frozen=True)
class Buyer:
    """Somebody to call, and the lines of sales that concern them, the latest first."""

    name: str
    customer: Customer | None
    lines: Sequence[SaleLine]

    @property
    def pieces(self) -> int:
        """Return how many pieces they took home."""
        return sum(line.quantity for line in self.lines)


@dataclass(frozen=True)
class Bought:
    """Everybody who bought; ``nameless`` are sales to walk-ins who left no name.

    ``uncoded`` pieces were sold in that time without a code, so nobody knows where they stood.
    """

    since: date
    buyers: Sequence[Buyer]
    nameless: Sequence[SaleLine]
    uncoded: int

    @property
    def pieces(self) -> int:
        """Return how many pieces were sold, to whomever."""
        named = sum(buyer.pieces for buyer in self.buyers)
        return named + sum(line.quantity for line in self.nameless)

    @property
    def nameless_pieces(self) -> int:
        """Return how many pieces went to walk-ins who left no name."""
        return sum(line.quantity for line in self.nameless)

    @property
    def nameless_sales(self) -> int:
        """Return how many sales those were."""
        return len({line.sale_id for line in self.nameless})


def bought_from(stop: StopSale, *, since: date) -> Bought:
    """Return who bought what a stop-sale concerns since a day, by name.

    Of a water: frags that were in it at any moment from that day until they were sold.
    Of a colony: its frags and those of every colony that descends from it.
    Queries: 2, and 1 per 500 lines sold since; for a water those of ``lives_of`` and
        ``waters_of`` besides, for a colony 1 for each generation.
    """
    is_water = bool(stop.system_id or stop.trough_id)
    sold = lines_since(since)
    concerned = in_water(stop, sold, since=since) if is_water else sold.filter(kind_of(stop))
    uncoded = sold.filter(frag__isnull=True).aggregate(n=Sum("quantity", default=0))["n"]
    return listed_by_buyer(concerned, since=since, uncoded=0 if not_traced(stop) else uncoded)


def not_traced(stop: StopSale) -> bool:
    """Tell whether pieces without a code are known all the same: by their variety."""
    return bool(stop.variety_id or stop.genus_id)


def lines_since(since: date) -> QuerySet[SaleLine]:
    """Return the lines of all sales since a day, the latest first, with whom they were to.

    Queries: none until it is read, then 1.
    """
    along = ("sale__customer__party", "sale__paper_name", "frag", "variety", "claim")
    rows = SaleLine.objects.filter(sale__day__gte=since).select_related(*along)
    return rows.order_by(F("sale__day").desc(), F("sale_id").desc(), "position")


def kind_of(stop: StopSale) -> Q:
    """Return the condition that a line sold what a stop-sale of a kind or colony concerns.

    Queries: 1 for each generation of a colony's descendants.
    """
    if stop.variety_id:
        return Q(variety=stop.variety_id)
    if stop.genus_id:
        return Q(variety__genus=stop.genus_id)
    return Q(frag__colony__in=with_descendants(stop.colony_id or 0))


def with_descendants(colony_id: int) -> set[int]:
    """Return a colony and all that were kept from its frags, or from theirs.

    Queries: 1 for each generation.
    """
    found, young = {colony_id}, {colony_id}
    while young:
        rows = Colony.objects.filter(from_frag__colony__in=young).values_list("pk", flat=True)
        young = set(rows) - found
        found |= young
    return found


def in_water(stop: StopSale, sold: QuerySet[SaleLine], *, since: date) -> Iterator[SaleLine]:
    """Yield the lines whose frags were in a stop-sale's water, from a day until their sale.

    Queries: 1 per 500 lines, and those of ``lives_of`` and ``waters_of``.
    """
    first = datetime.combine(since, time(), ZoneInfo(organisation().zone))
    coded = sold.filter(frag__isnull=False).iterator(chunk_size=PORTION)
    for lines in by_portion(coded):
        lives = lives_of(line.frag_id for line in lines if line.frag_id)
        waters = waters_of(stop, lives=lives.values(), since=since)
        for line in lines:
            last = line.claim.made_at if line.claim else line.sale.at
            frag = line.frag_id or 0
            if was_in(frag, lives=lives, waters=waters, first=first, last=last):
                yield line


def by_portion(lines: Iterable[SaleLine]) -> Iterator[list[SaleLine]]:
    """Yield lines, so many at a time as their logs are read together."""
    portion: list[SaleLine] = []
    for line in lines:
        portion.append(line)
        if len(portion) == PORTION:
            yield portion
            portion = []
    if portion:
        yield portion


def listed_by_buyer(lines: Iterable[SaleLine], *, since: date, uncoded: int) -> Bought:
    """Put lines together by whom they were sold to.

    Queries: those of reading the lines.
    """
    of_buyer: dict[tuple[str, int], list[SaleLine]] = defaultdict(list)
    customers: dict[int, Customer] = {}
    nameless: list[SaleLine] = []
    for line in lines:
        name = name_of_buyer(line.sale)
        customer = line.sale.customer
        if not name:
            nameless.append(line)
            continue
        if customer is not None:
            customers[customer.pk] = customer
        of_buyer[name, customer.pk if customer else 0].append(line)
    buyers = [
        Buyer(name, customers.get(pk), bought)
        for (name, pk), bought in sorted(
            of_buyer.items(), key=lambda one: (one[0][0].casefold(), one[0][1])
        )
    ]
    return Bought(since, buyers, nameless, uncoded)


def name_of_buyer(sale: Sale) -> str:
    """Return the name of who bought: as it is now, else as it stands on the paper, else nothing."""
    if sale.customer is not None:
        return sale.customer.party.name
    return sale.paper_name.name if sale.paper_name else ""


def call_rows(bought: Bought) -> Iterator[list[Cell]]:
    """Yield what everybody bought, a line of a sale a row, with how to reach them.

    Queries: none.
    """
    for buyer in bought.buyers:
        party = buyer.customer.party if buyer.customer else None
        reach = [party.contact, party.phone, party.email] if party else ["", "", ""]
        for line in buyer.lines:
            yield [buyer.name, *reach, *sold_cells(line)]
    for line in bought.nameless:
        yield [WALK_IN, "", "", "", *sold_cells(line)]


def sold_cells(line: SaleLine) -> list[Cell]:
    """Return what stands in a table about one line of a sale."""
    what = line.variety.name if line.variety else line.text
    code = show_code(line.frag.code_id) if line.frag else ""
    return [line.sale.day, line.sale.paper, what, line.size, line.quantity, code]
