"""What a sale comes to: discounts, tax and total, line by line."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from fraginv.base.errors import InputError
from fraginv.base.rules.money import named_text, split_by_largest_remainder
from fraginv.base.rules.tax import tax_on_lines


@dataclass(frozen=True, slots=True)
class Asked:
    """One line before its sums: pieces, price of one, and an amount off the line."""

    quantity: int
    unit_price: int
    discount: int = 0


@dataclass(frozen=True, slots=True)
class LineSums:
    """What a line comes to, in minor units; ``discount`` holds its part of the whole sale's."""

    gross: int
    discount: int
    net: int
    tax: int


@dataclass(frozen=True, slots=True)
class SaleSums:
    """What a sale comes to, in minor units: the sums of its lines."""

    lines: tuple[LineSums, ...]
    gross: int
    discounts: int
    net: int
    tax: int
    total: int


def sale_sums(
    asked: Sequence[Asked],
    *,
    discount: int,
    rate: Decimal,
    basis: Literal["item", "invoice"],
    currency: str,
) -> SaleSums:
    """Work out a sale.

    The whole sale's discount is split over the lines by largest remainder, in
    proportion to what each comes to after its own discount. Tax is due on
    what is left.

    Args: ``discount`` off the whole sale, in minor units; ``rate`` a fraction.
    Raises: InputError for an empty sale, a quantity under one, a negative
        amount, or a discount larger than what it is taken off.
    """
    if not asked:
        raise InputError("There is nothing to sell. Add a piece first.")
    for position, line in enumerate(asked, start=1):
        check_line(line, position=position, currency=currency)
    before = [line.quantity * line.unit_price - line.discount for line in asked]
    check_discount(discount, of=sum(before), what="the sale", currency=currency)
    shares = split_by_largest_remainder(discount, before)
    nets = [amount - share for amount, share in zip(before, shares, strict=True)]
    return summed(asked, nets=nets, taxes=tax_on_lines(nets, rate, basis=basis))


def summed(asked: Sequence[Asked], *, nets: Sequence[int], taxes: Sequence[int]) -> SaleSums:
    """Put lines, what is left of each after discounts, and their tax together."""
    lines = tuple(
        LineSums(
            gross=line.quantity * line.unit_price,
            discount=line.quantity * line.unit_price - net,
            net=net,
            tax=tax,
        )
        for line, net, tax in zip(asked, nets, taxes, strict=True)
    )
    net, tax = sum(nets), sum(taxes)
    return SaleSums(
        lines=lines,
        gross=sum(line.gross for line in lines),
        discounts=sum(line.discount for line in lines),
        net=net,
        tax=tax,
        total=net + tax,
    )


def check_line(line: Asked, *, position: int, currency: str) -> None:
    """Refuse a line that sells nothing or gives more than it takes.

    Raises: InputError naming the line.
    """
    if line.quantity < 1:
        raise InputError(f"Line {position} sells {line.quantity} pieces. Sell one or more.")
    if line.unit_price < 0:
        raise InputError(f"Line {position} has a negative price.")
    gross = line.quantity * line.unit_price
    check_discount(line.discount, of=gross, what=f"line {position}", currency=currency)


def check_discount(discount: int, *, of: int, what: str, currency: str) -> None:
    """Refuse a discount that is negative or larger than what it is taken off.

    Raises: InputError with both amounts.
    """
    if discount < 0:
        raise InputError(f"The discount on {what} is negative. Write what is taken off.")
    if discount > of:
        raise InputError(
            f"The discount of {named_text(discount, currency=currency)} is more than {what} "
            f"comes to, {named_text(of, currency=currency)}."
        )
