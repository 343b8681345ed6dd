"""What must be in the database of a sale that is there, and of all of them together."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import connection
from django.db.models import Model, Sum

from fraginv.base.models import NumberSeries, ReplayKey
from fraginv.front.queries.differences import differences
from fraginv.ledger.models import ChainHead, Entry, Line
from fraginv.stock.models import Claim, Frag, FragEvent
from fraginv.trade.models import Balance, Payment, Sale, SaleLine, Taking

SOLD = "sold"


@dataclass(frozen=True)
class Wanted:
    """A sale as it was asked for: pieces by code, its total with tax, whether it was paid."""

    pieces: Mapping[str, int]
    total: int
    is_paid: bool


def answer_kept(key: str) -> str | None:
    """Return where the write under a replay key led, or None where it was not done."""
    row = ReplayKey.objects.filter(key=UUID(key)).first()
    return None if row is None else row.answer


def sale_at(location: str) -> Sale | None:
    """Return the sale whose page that is."""
    number = location.rpartition("/")[2]
    return Sale.objects.filter(pk=number).first() if number.isdigit() else None


def faults_of(sale: Sale, wanted: Wanted) -> Iterator[str]:
    """Yield what a sale that is there lacks, or has too much of."""
    lines = list(sale.lines.select_related("frag", "claim").order_by("position"))
    if sale.total != wanted.total:
        yield f"{sale}: comes to {sale.total}, not {wanted.total}"
    sold = {line.frag.code_id: line.quantity for line in lines if line.frag}
    if sold != wanted.pieces or len(lines) != len(sold):
        yield f"{sale}: has lines of {sold}, not {dict(wanted.pieces)}"
    for line in lines:
        yield from faults_of_line(sale, line)
    paid = list(sale.payments.all())
    if [one.amount for one in paid] != ([wanted.total] if wanted.is_paid else []):
        yield f"{sale}: was paid {[one.amount for one in paid]}"
    owed = list(Balance.objects.filter(sale=sale).values_list("owed", flat=True))
    if owed != [0 if wanted.is_paid else wanted.total]:
        yield f"{sale}: {owed} is owed"
    takings = Taking.objects.filter(sale=sale).aggregate(amount=Sum("amount"))["amount"]
    if (takings or 0) != (sale.net if wanted.is_paid else 0):
        yield f"{sale}: brought {takings}"
    for source, paper in [("sale", sale.paper), *(("payment", one.paper) for one in paid)]:
        yield from faults_of_entry(source, paper)


def faults_of_line(sale: Sale, line: SaleLine) -> Iterator[str]:
    """Yield what is wrong with the claim and the event of a line."""
    claim = line.claim
    if claim is None:
        yield f"{sale}: line {line.position} has no claim"
        return
    if (claim.kind, claim.frag_id, claim.pieces) != ("sale", line.frag_id, line.quantity):
        yield f"{sale}: line {line.position} has the claim {claim}"
    events = FragEvent.objects.filter(frag=line.frag_id, kind=SOLD, body__claim=claim.pk)
    if [event.body["pieces"] for event in events] != [line.quantity]:
        yield f"{sale}: line {line.position} has no event of its own, or several"


def faults_of_entry(source: str, paper: str) -> Iterator[str]:
    """Yield what is wrong with the entry of a paper."""
    entries = Entry.objects.filter(source=source, paper=paper)
    if len(entries) != 1:
        yield f"{paper}: has {len(entries)} entries"
    for entry in entries:
        amounts = list(entry.lines.values_list("amount", flat=True))
        if len(amounts) < 2 or sum(amounts) != 0:
            yield f"{paper}: its entry has lines of {amounts}"


def faults_of_all(there: Sequence[Wanted], began_with: Mapping[str, int]) -> Iterator[str]:
    """Yield what is wrong with all sales together, given those that must be there."""
    paid = sum(one.is_paid for one in there)
    lines = sum(len(one.pieces) for one in there)
    yield from miscounted(
        (Sale, len(there)),
        (SaleLine, lines),
        (Claim, lines),
        (Payment, paid),
        (Balance, len(there)),
        (Entry, len(there) + paid),
        (ReplayKey, len(there)),
    )
    if FragEvent.objects.filter(kind=SOLD).count() != lines:
        yield f"There are not {lines} events of sales"
    left = Counter(began_with)
    for one in there:
        left.subtract(one.pieces)
    rows = Frag.objects.filter(code__in=began_with).values_list("code_id", "pieces", "free")
    for code, pieces, free in rows:
        if (pieces, free) != (left[code], left[code]):
            yield f"{code}: {pieces} pieces are there and {free} free, not {left[code]}"
    yield from gaps()
    yield from map(str, differences())


def miscounted(*wanted: tuple[type[Model], int]) -> Iterator[str]:
    """Yield each table that has not as many rows as it must."""
    for model, count in wanted:
        found = model._default_manager.count()
        if found != count:
            yield f"There are {found} rows of {model.__name__}, not {count}"


def gaps() -> Iterator[str]:
    """Yield each series of numbers, and the chain, where it does not go from 1 to its end."""
    for name, model in (("S", Sale), ("P", Payment)):
        rows = model._default_manager.filter(series=name)
        for series in NumberSeries.objects.filter(series=name):
            numbers = rows.filter(year=series.year).order_by("number")
            yield from unlike(str(series), numbers.values_list("number", flat=True), series.last)
    head = ChainHead.objects.get()
    positions = Entry.objects.order_by("position").values_list("position", flat=True)
    yield from unlike("The chain of entries", positions, head.position)
    if Entry.objects.order_by("position").values_list("hash", flat=True).last() != head.hash:
        yield "The chain of entries does not end at its head"
    total = Line.objects.aggregate(amount=Sum("amount"))["amount"]
    if total:
        yield f"All lines of entries come to {total}"


def unlike(what: str, numbers: Iterable[int], last: int) -> Iterator[str]:
    """Yield where numbers are not 1, 2, 3 and so on to the last."""
    found = list(numbers)
    if found != list(range(1, last + 1)):
        yield f"{what}: {len(found)} numbers up to {last}, with gaps or twice"


def engine_says() -> Iterator[str]:
    """Yield what SQLite finds wrong with its file, or how PostgreSQL may lose what it kept."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA integrity_check")
            yield from (str(row) for row in cursor.fetchall() if row != ("ok",))
            cursor.execute("PRAGMA foreign_key_check")
            yield from (f"foreign key: {row}" for row in cursor.fetchall())
            return
        for name in ("fsync", "synchronous_commit", "full_page_writes"):
            cursor.execute(f"SHOW {name}")
            (value,) = cursor.fetchone()
            if value != "on":
                yield f"{name} is {value}"
