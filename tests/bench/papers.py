"""The papers of a big house: customers, prices, sales, payments, bills, and their entries."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from hashlib import sha256
from typing import Any

from fraginv.base.models import NumberSeries, Party, Person
from fraginv.costs.models import Bill, BillLine, CostKind
from fraginv.ledger.actions import ensure_cost_account
from fraginv.ledger.models import ChainHead, Entry, Line
from fraginv.ledger.rules import (
    BANK,
    CASH,
    FIRST_HASH,
    NUMBERS,
    RECEIVABLES,
    SALES_TAX,
    Posting,
    entry_text,
    sales_account,
)
from fraginv.stock.models import Variety
from fraginv.taxa.rules import GROUPS
from fraginv.trade.models import (
    Balance,
    Customer,
    CustomerKind,
    PaperName,
    Payment,
    Price,
    Sale,
    SaleLine,
    Taking,
    TaxRate,
)
from tests.bench.troughs import name_of
from tests.bench.world import DAYS, FIRST_DAY, World, moment, month, write

SALE_COLUMNS = (
    "id series year number day month at by_id channel kind_id customer_id paper_name_id gross "
    "discounts net tax total tax_name tax_rate tax_basis exempt_by note imported"
)
LINE_COLUMNS = (
    "id sale_id position frag_id claim_id variety_id group size text quantity unit_price gross "
    "discount net tax month channel"
)
PAYMENT_COLUMNS = "id series year number sale_id day month at means amount goods tax by_id"
TAKING_COLUMNS = "sale_id payment_id month channel group amount"
ENTRY_COLUMNS = "id position year number day month source paper memo by_id at previous_hash hash"
BILL_COLUMNS = (
    "id series year number day month supplier_id serves display_share amount settled paid_by "
    "paid_on paid_month note imported by_id at entry_id"
)
KINDS = ("Electricity", "Salt", "Food", "Test kits")
OWED_EVERY = 500
NAMED_EVERY = 5


@dataclass
class Books:
    """Numbers given so far, and the chain of entries with its lines, row by row."""

    person: int
    lasts: Counter[tuple[str, int]] = field(default_factory=Counter)
    entries: list[tuple[Any, ...]] = field(default_factory=list)
    lines: list[tuple[Any, ...]] = field(default_factory=list)
    head: str = FIRST_HASH

    def number(self, series: str, year: int) -> int:
        """Give the next number of a series."""
        self.lasts[series, year] += 1
        return self.lasts[series, year]

    def post(self, day: date, *, source: str, paper: str, postings: list[Posting]) -> int:
        """Put an entry at the end of the chain; return its id."""
        number, place = self.number(NUMBERS, day.year), len(self.entries) + 1
        text = entry_text(
            year=day.year, number=number, day=day, source=source, paper=paper, postings=postings
        )
        before, self.head = self.head, sha256(f"{self.head}\n{text}".encode()).hexdigest()
        self.entries.append(
            (place, place, day.year, number, day.isoformat(), month(day), source, paper, "")
            + (self.person, moment(day), before, self.head)
        )
        self.lines += [(place, one.account, one.amount, month(day)) for one in postings]
        return place


@dataclass(frozen=True)
class OneSale:
    """A sale with its two lines, worked out from its number."""

    number: int
    day: date
    lines: tuple[tuple[int, str, int], tuple[int, str, int]]

    @property
    def net(self) -> int:
        """Return what its lines come to, without tax; sixteen divides each of them."""
        return sum(price for _, _, price in self.lines)

    @property
    def tax(self) -> int:
        """Return the tax: one part in sixteen, 6.25 %."""
        return self.net // 16

    @property
    def by_group(self) -> dict[str, int]:
        """Add the lines up by group."""
        found: Counter[str] = Counter()
        for _, group, price in self.lines:
            found[group] += price
        return dict(found)

    def customer(self, world: World) -> int | None:
        """Return who bought, or None for a walk-in."""
        return self.number % world.customers + 1 if self.number % NAMED_EVERY == 0 else None

    @property
    def is_owed(self) -> bool:
        """Tell whether nothing was paid."""
        return self.number % OWED_EVERY == 0


def write_customers(world: World, *, person: Person) -> None:
    """Write customers by name, the words for their papers, prices and the tax rate."""
    names = [name_of(number) for number in range(1, world.customers + 1)]
    blank = ("", "", "", "", "")
    write(
        Party,
        "id name contact email phone address note",
        ((number, name, *blank) for number, name in enumerate(names, start=1)),
    )
    kinds = list(CustomerKind.objects.order_by("pk"))
    write(
        Customer,
        "id party_id kind_id certificate_state certificate_number credit",
        ((number, number, kinds[0].pk, "", "", 0) for number in range(1, world.customers + 1)),
    )
    write(
        PaperName,
        "id customer_id name contact address",
        ((number, number, name, "", "") for number, name in enumerate(names, start=1)),
    )
    TaxRate.objects.create(rate="0.0625", basis="item", first_day=FIRST_DAY, by=person, at=now())
    for kind in kinds:
        for place, group in enumerate(GROUPS):
            Price.objects.create(
                kind=kind,
                group=group,
                amount=1_600 + 160 * place,
                first_day=FIRST_DAY,
                by=person,
                at=now(),
            )


def now() -> Any:
    """Return the bench's present."""
    from fraginv.base import clock

    return clock.now()


def sales(world: World, groups: dict[int, str]) -> Iterator[OneSale]:
    """Yield all sales in the order of their days.

    Args: ``groups`` of the varieties; nothing is asked while rows are on their way.
    """
    for sale in range(world.sales):
        first, second = (
            (frag, groups[world.variety(frag)], 1_600 + 160 * (frag % 10))
            for frag in (2 * sale, 2 * sale + 1)
        )
        yield OneSale(sale + 1, world.day(2 * sale + 1), (first, second))


def write_sales(world: World, *, person: Person) -> None:
    """Write sales and bills with everything that hangs on them."""
    books, groups = Books(person.pk), dict(Variety.objects.values_list("pk", "group"))
    kind = CustomerKind.objects.order_by("pk")[0].pk
    papers: list[tuple[Any, ...]] = []
    paid: list[tuple[Any, ...]] = []
    for sale in sales(world, groups):
        papers.append(sale_row(world, sale, books=books, kind=kind))
        if not sale.is_owed:
            paid.append(payment_row(sale, books=books))
    write(Sale, SALE_COLUMNS, papers)
    write(
        SaleLine,
        LINE_COLUMNS,
        (row for sale in sales(world, groups) for row in line_rows(world, sale)),
    )
    write(
        Balance,
        "sale_id owed day customer_id",
        (
            (sale.number, sale.is_owed * (sale.net + sale.tax), sale.day.isoformat())
            + (sale.customer(world),)
            for sale in sales(world, groups)
        ),
    )
    write(Payment, PAYMENT_COLUMNS, paid)
    write(Taking, TAKING_COLUMNS, taking_rows(world, groups))
    write_books(world, books=books)


def write_books(world: World, *, books: Books) -> None:
    """Write bills, and what the books hold when all papers are posted."""
    bills = list(bill_rows(world, books=books))
    write(Entry, ENTRY_COLUMNS, books.entries)
    write(Line, "entry_id account_id amount month", books.lines)
    write(Bill, BILL_COLUMNS, bills)
    write(
        BillLine,
        "bill_id kind_id amount display direct",
        ((row[0], row[0] % len(KINDS) + 1, row[9], row[9], 0) for row in bills),
    )
    write(
        NumberSeries,
        "series year last",
        ((series, year, last) for (series, year), last in books.lasts.items()),
    )
    ChainHead.objects.update_or_create(
        pk=1, defaults={"position": len(books.entries), "hash": books.head}
    )


def sale_row(world: World, sale: OneSale, *, books: Books, kind: int) -> tuple[Any, ...]:
    """Return a sale's row; its entry is posted on the way."""
    number = books.number("S", sale.day.year)
    customer = sale.customer(world)
    postings = [
        Posting(RECEIVABLES, sale.net + sale.tax),
        *(Posting(sales_account(group), -net) for group, net in sale.by_group.items()),
        Posting(SALES_TAX, -sale.tax),
    ]
    paper = f"S-{sale.day.year}-{number:04d}"
    books.post(sale.day, source="sale", paper=paper, postings=postings)
    return (
        *(sale.number, "S", sale.day.year, number, sale.day.isoformat(), month(sale.day)),
        *(moment(sale.day), books.person, "counter", kind, customer, customer),
        *(sale.net, 0, sale.net, sale.tax, sale.net + sale.tax),
        *("Sales tax", "0.0625", "item", "", "", False),
    )


def line_rows(world: World, sale: OneSale) -> Iterator[tuple[Any, ...]]:
    """Yield a sale's two lines; what was lost or still lives sold as an unnamed piece."""
    for position, (frag, group, price) in enumerate(sale.lines, start=1):
        named = frag + 1 if world.is_sold(frag) else None
        yield (
            *(frag + 1, sale.number, position, named, named, world.variety(frag), group, "M"),
            *("A piece", 1, price, price, 0, price, price // 16, month(sale.day), "counter"),
        )


def payment_row(sale: OneSale, *, books: Books) -> tuple[Any, ...]:
    """Return a sale's payment in cash on its day; its entry is posted on the way."""
    number, total = books.number("P", sale.day.year), sale.net + sale.tax
    postings = [Posting(CASH, total), Posting(RECEIVABLES, -total)]
    paper = f"P-{sale.day.year}-{number:04d}"
    books.post(sale.day, source="payment", paper=paper, postings=postings)
    return (
        *(sale.number, "P", sale.day.year, number, sale.number, sale.day.isoformat()),
        *(month(sale.day), moment(sale.day), "cash", total, sale.net, sale.tax, books.person),
    )


def taking_rows(world: World, groups: dict[int, str]) -> Iterator[tuple[Any, ...]]:
    """Yield what each payment brought for the goods of each group."""
    for sale in sales(world, groups):
        if not sale.is_owed:
            for group, net in sale.by_group.items():
                yield sale.number, sale.number, month(sale.day), "counter", group, net


def bill_rows(world: World, *, books: Books) -> Iterator[tuple[Any, ...]]:
    """Yield bills of one line, paid on their day; their entries are posted on the way."""
    write(
        CostKind,
        "id name folded",
        ((place, name, name.casefold()) for place, name in enumerate(KINDS, start=1)),
    )
    accounts = [ensure_cost_account(name, direct=False).code for name in KINDS]
    for number in range(1, world.bills + 1):
        day = FIRST_DAY + timedelta(days=number * DAYS // (world.bills + 1))
        place, amount = books.number("B", day.year), 5_000 + number % 997
        postings = [Posting(accounts[number % len(KINDS)], amount), Posting(BANK, -amount)]
        paper = f"B-{day.year}-{place:04d}"
        entry = books.post(day, source="bill", paper=paper, postings=postings)
        yield (
            *(number, "B", day.year, place, day.isoformat(), month(day), 1, "display", "1"),
            *(amount, "paid", "transfer", day.isoformat(), month(day), "", False),
            *(books.person, moment(day), entry),
        )
