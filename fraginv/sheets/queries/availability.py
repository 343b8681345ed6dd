"""What can be had now, and for how much."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from fraginv.base.errors import NotFound
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.cautions import CAUTIONS, Caution
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import latest_photos, photos_for_varieties
from fraginv.sheets.rules import (
    Missing,
    SheetLine,
    good_until,
    line_document,
    missing_prices,
    sheet_lines,
)
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import free_pieces, saleable_frags
from fraginv.taxa.queries import cautions_for
from fraginv.trade.models import Customer, CustomerKind
from fraginv.trade.queries.prices import PriceList, get_kind, prices_for
from fraginv.trade.rules.prices import PriceMissing
from fraginv.trade.rules.words import Unit

Reader = Customer | CustomerKind


@dataclass(frozen=True)
class Availability:
    """What a reader can have now.

    ``of_varieties`` and ``of_frags`` hold the picture of a variety's lines and
    of each frag sold as pictured, where there is one. ``missing`` is for staff
    alone: what is left off because it has no price.
    """

    as_of: date
    reader: str
    kind: str
    currency: str
    lines: list[SheetLine]
    missing: list[Missing]
    of_varieties: Mapping[int, Photo]
    of_frags: Mapping[int, Photo]

    @property
    def until(self) -> date:
        """Return the last day on which the sheet is good."""
        return good_until(self.as_of)

    @property
    def pieces(self) -> int:
        """Return how many pieces can be had in all."""
        return sum(line.pieces for line in self.lines)

    @property
    def left_off(self) -> int:
        """Return how many pieces are left off for want of a price."""
        return sum(one.pieces for one in self.missing)

    @property
    def cautions(self) -> list[Caution]:
        """Return the cautions that any of the lines calls for."""
        keys = {key for line in self.lines for key in line.cautions}
        return [caution for key, caution in CAUTIONS.items() if key in keys]

    def photo_of(self, line: SheetLine) -> Photo | None:
        """Return a line's picture: of the piece itself where it is sold as pictured."""
        if line.code:
            return self.of_frags.get(line.frags[0])
        return self.of_varieties.get(line.variety)

    def document(self) -> dict[str, object]:
        """Return the sheet as one JSON document; amounts in minor units."""
        return {
            "as_of": self.as_of.isoformat(),
            "valid_until": self.until.isoformat(),
            "for": self.reader,
            "kind": self.kind,
            "currency": self.currency,
            "lines": [line_document(line) for line in self.lines],
            "missing_prices": [
                {"variety": one.name, "size": one.size, "pieces": one.pieces, "why": one.why}
                for one in self.missing
            ],
        }


def availability(reader: Reader, *, day: date) -> Availability:
    """Return what is for sale now, at the reader's prices of a day.

    What is sold, held, apart, quarantined, kept back or barred is not in it.
    Args: ``reader`` a customer with kind and party fetched along, or a kind.
    Queries: 4, whatever the size of the stock, and 1 outside a request.
    """
    kind = reader.kind if isinstance(reader, Customer) else reader
    prices = prices_for(kind, day=day)
    lines, missing = priced(saleable_frags(), prices=prices)
    ordered = sheet_lines(lines)
    of_frags = latest_photos(frag for line in ordered for frag in line.frags)
    return Availability(
        as_of=day,
        reader=str(reader) if isinstance(reader, Customer) else "",
        kind=kind.name,
        currency=organisation().currency,
        lines=ordered,
        missing=missing_prices(missing),
        of_varieties=photos_for_varieties({line.variety for line in ordered})
        | latest_by_variety(ordered, of_frags),
        of_frags=of_frags,
    )


def priced(frags: Iterable[Frag], *, prices: PriceList) -> tuple[list[SheetLine], list[Missing]]:
    """Return each frag as a line at its price, and what has none."""
    lines: list[SheetLine] = []
    missing: list[Missing] = []
    cautions: dict[int, tuple[str, ...]] = {}
    for frag in frags:
        genus = frag.variety.genus
        if genus.pk not in cautions:
            cautions[genus.pk] = tuple(caution.key for caution in cautions_for(genus))
        try:
            lines.append(line_of(frag, prices=prices, cautions=cautions[genus.pk]))
        except PriceMissing as error:
            missing.append(Missing(frag.variety.name, frag.size, free_pieces(frag), error.message))
    return lines, missing


def line_of(frag: Frag, *, prices: PriceList, cautions: tuple[str, ...]) -> SheetLine:
    """Return one frag as a line of its own.

    Raises: PriceMissing.
    """
    chosen = prices.choose(frag)
    by_head = chosen.offer.unit == Unit.HEAD
    return SheetLine(
        variety=frag.variety_id,
        name=frag.variety.name,
        latin=frag.variety.latin,
        group=frag.variety.group,
        size=frag.size,
        pieces=free_pieces(frag),
        price=chosen.offer.amount,
        unit=chosen.offer.unit,
        heads=frag.heads if by_head else None,
        code=frag.code_id if chosen.target.frag is not None else "",
        cautions=cautions,
        frags=(frag.pk,),
        fresh=frag.fresh,
    )


def latest_by_variety(lines: Iterable[SheetLine], photos: Mapping[int, Photo]) -> dict[int, Photo]:
    """Return the latest photo among the frags of each variety's lines, if there is one."""
    found: dict[int, Photo] = {}
    for line in lines:
        shown = [photos[frag] for frag in line.frags if frag in photos and not line.code]
        for photo in shown:
            held = found.get(line.variety)
            if held is None or (photo.taken_at, photo.pk) > (held.taken_at, held.pk):
                found[line.variety] = photo
    return found


def readers_known() -> tuple[list[CustomerKind], list[Customer]]:
    """Return for whom a sheet can be: kinds of customer, and customers by name.

    Queries: 2.
    """
    customers = Customer.objects.select_related("party", "kind").order_by("party__name", "pk")
    return list(CustomerKind.objects.all()), list(customers)


def mark_of(reader: Reader) -> str:
    """Return the word for a reader in a page's address, such as ``customer-7``."""
    return f"{'customer' if isinstance(reader, Customer) else 'kind'}-{reader.pk}"


def get_reader(mark: str) -> Reader:
    """Return a reader by its mark; nothing means retail.

    Raises: NotFound.
    Queries: 1.
    """
    if not mark:
        return get_kind()
    word, _, key = mark.partition("-")
    found: Reader | None = None
    if key.isascii() and key.isdigit() and len(key) < 10:
        if word == "customer":
            found = Customer.objects.select_related("party", "kind").filter(pk=int(key)).first()
        elif word == "kind":
            found = CustomerKind.objects.filter(pk=int(key)).first()
    if found is None:
        raise NotFound("There is no such customer. Choose one from the list of the sheet.")
    return found


def reader_named(name: str) -> Reader:
    """Return a customer by name, or else a kind of customer; nothing means retail.

    Raises: NotFound when nobody has that name.
    Queries: 1, and 1 more for a kind or an unknown name.
    """
    typed = " ".join(name.split())
    if not typed:
        return get_kind()
    rows = Customer.objects.select_related("party", "kind").filter(party__name__iexact=typed)
    found = rows.order_by("pk").first() or CustomerKind.objects.filter(name__iexact=typed).first()
    if found is None:
        raise NotFound(
            f"There is no customer {typed!r}. Write the name as it stands in the list of "
            "customers, or a kind of customer such as retail."
        )
    return found
