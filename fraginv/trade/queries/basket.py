"""What is about to be sold: holds of one customer or name, and pieces that were scanned."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Q

from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Code
from fraginv.base.queries.codes import get_code
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import read_code, show_code
from fraginv.stock.models import Claim, Frag
from fraginv.stock.queries.frags import (
    frag_by_code,
    free_now,
    free_pieces,
    not_for_sale,
    open_holds,
)
from fraginv.stock.queries.stops import STOPPED
from fraginv.stock.rules.holds import Holder, say_holders
from fraginv.stock.rules.stages import say_trouble
from fraginv.trade.models import Customer
from fraginv.trade.queries.customers import holds_for
from fraginv.trade.queries.prices import PriceList, get_kind, prices_for, tax_of
from fraginv.trade.rules.asked import SaleItem
from fraginv.trade.rules.prices import Chosen, PriceMissing
from fraginv.trade.rules.sums import Asked, SaleSums, sale_sums

HOLD, CODE = "hold-", "code-"


@dataclass(frozen=True)
class BasketLine:
    """Pieces of one frag, from a hold or free, with their price or why there is none.

    ``barred`` says why so many cannot be sold, whatever the price.
    """

    key: str
    frag: Frag
    hold: Claim | None
    pieces: int
    most: int
    chosen: Chosen | None
    missing: str
    barred: str

    @property
    def gross(self) -> int:
        """Return what the pieces cost, in minor units."""
        return self.pieces * self.chosen.amount if self.chosen else 0

    @property
    def unwell(self) -> str:
        """Say what is noted as wrong with it; it may be sold all the same."""
        return say_trouble(self.frag.wrong)

    @property
    def item(self) -> SaleItem:
        """Return the line as the sale takes it."""
        return SaleItem(self.frag.pk, self.pieces, self.hold.pk if self.hold else None)


@dataclass(frozen=True)
class Basket:
    """What is about to be sold, and what it comes to where that can be worked out."""

    lines: Sequence[BasketLine]
    sums: SaleSums | None
    problem: str
    exempt_by: str = ""

    @property
    def sold(self) -> list[BasketLine]:
        """Return the lines with pieces to sell."""
        return [line for line in self.lines if line.pieces]


def fill_basket(
    codes: Sequence[str],
    *,
    pieces: Mapping[str, int],
    customer: Customer | None,
    name: str,
    discount: int,
) -> Basket:
    """Put the holds of a customer or name and the scanned codes together, priced for them.

    A scanned frag of which they hold pieces already stands there once, as their hold.

    Args: ``codes`` as ``read_code`` returns them; ``pieces`` by a line's key, where
        another number than all that is held, or one, is wanted.
    Queries: 6, 2 fewer for a walk-in.
    """
    kind = customer.kind if customer else get_kind()
    prices = prices_for(kind, day=today())
    held = list(holds_for(customer=customer, name=name)) if customer or name.strip() else []
    of_holds = {hold.frag_id for hold in held}
    found = Frag.objects.select_related("variety", "colony").filter(
        Q(code__in=codes) | Q(pk__in=of_holds)
    )
    frags = {frag.pk: frag for frag in found.annotate(free_now=free_now(), stopped=STOPPED)}
    free = {frag.code_id: frag for frag in frags.values() if frag.pk not in of_holds}
    lines = []
    for key, frag, hold, most in [
        *((f"{HOLD}{hold.pk}", frags[hold.frag_id], hold, hold.pieces) for hold in held),
        *(
            (f"{CODE}{code}", free[code], None, free_pieces(free[code]))
            for code in codes
            if code in free
        ),
    ]:
        wanted = pieces.get(key, hold.pieces if hold else 1)
        chosen, missing = price_or_why(frag, prices)
        barred = why_barred(frag, wanted=wanted, most=most)
        lines.append(BasketLine(key, frag, hold, wanted, most, chosen, missing, barred))
    return summed(lines, customer=customer, discount=discount)


def price_or_why(frag: Frag, prices: PriceList) -> tuple[Chosen | None, str]:
    """Return a frag's price, or why there is none."""
    try:
        return prices.choose(frag), ""
    except PriceMissing as error:
        return None, error.message


def why_barred(frag: Frag, *, wanted: int, most: int) -> str:
    """Say why so many pieces of a frag cannot be sold now, or nothing where they can."""
    code, reason = show_code(frag.code_id), not_for_sale(frag)
    if reason:
        return f"{code} is not for sale: {reason}."
    if wanted > most:
        return f"Of {code} {most} can be had, not {wanted}."
    return ""


def summed(lines: Sequence[BasketLine], *, customer: Customer | None, discount: int) -> Basket:
    """Add a basket up, or say what keeps it from being sold.

    Queries: 1.
    """
    sold = [line for line in lines if line.pieces]
    problems = [line.barred or line.missing for line in sold if line.barred or line.missing]
    if problems or not sold:
        return Basket(lines, None, problems[0] if problems else "")
    try:
        taxed = tax_of(customer, day=today())
        sums = sale_sums(
            [Asked(line.pieces, line.chosen.amount) for line in sold if line.chosen],
            discount=discount,
            rate=taxed.rate,
            basis=taxed.basis,
            currency=organisation().currency,
        )
    except InputError as error:
        return Basket(lines, None, error.message)
    return Basket(lines, sums, "", taxed.exempt_by)


def code_to_sell(text: str, *, basket: Basket) -> str:
    """Return the code of a frag that can be put into a basket.

    Raises: CodeError or NotFound for a code that is none of ours or no frag's;
        Conflict where it is in the basket already, not for sale, or somebody else has it.
    Queries: 2 at most.
    """
    code = read_code(text)
    try:
        frag = frag_by_code(code)
    except NotFound as error:
        raise NotFound(why_no_frag(get_code(code)), code=code) from error
    if frag.pk in {line.frag.pk for line in basket.lines}:
        raise Conflict(f"{show_code(frag.code_id)} is on the list already.")
    reason = not_for_sale(frag)
    if reason:
        raise Conflict(f"{show_code(frag.code_id)} is not for sale: {reason}.")
    holds = list(open_holds([frag.pk]))
    if sum(hold.pieces for hold in holds) >= frag.pieces:
        holders = [Holder(hold.holder, hold.pieces, hold.until) for hold in holds]
        told = say_holders(holders, zone=organisation().zone)
        raise Conflict(f"{show_code(frag.code_id)} has none free: {told}.")
    return frag.code_id


def why_no_frag(code: Code) -> str:
    """Say what carries a code that is no frag's, and what to do instead."""
    shown = show_code(code.code)
    if code.kind == Code.Kind.COLONY:
        return (
            f"{shown} is a colony, and a colony is not sold here. Scan or find its code in the "
            "field at the top: its page cuts it, and the frags are sold once they are ready."
        )
    if code.kind == Code.Kind.BLANK:
        return f"{shown} is a label that is on no frag yet."
    return f"{shown} is not a frag. Scan the label of the frag itself."
