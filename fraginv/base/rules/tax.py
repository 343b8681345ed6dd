"""Sales tax: one rounding of the exact product, by item or by invoice."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from fraginv.base.errors import InputError
from fraginv.base.rules.money import multiply, split_by_largest_remainder

Basis = Literal["item", "invoice"]


def tax_due(taxable_minor: int, rate: Decimal) -> int:
    """Return the tax on an amount: the exact product, rounded half up once.

    Args: ``taxable_minor`` in minor units, ``rate`` the combined rate as a fraction.
    Returns: minor units; negative for a negative amount (a credit).
    Raises: InputError if the rate is no fraction from 0 to 1.
    Source: Streamlined Sales and Use Tax Agreement section 324, as enacted in
    R.I. Gen. Laws 44-18.1-25: carry to the third place, up when it exceeds four.
    """
    check_rate(rate)
    return multiply(taxable_minor, rate)


def tax_on_lines(amounts: Sequence[int], rate: Decimal, *, basis: Basis) -> list[int]:
    """Return the tax of each line of a paper, in minor units.

    On the item basis each line is rounded by itself. On the invoice basis the
    sum is rounded once and shared out by largest remainder.

    Args: ``amounts`` taxable, in minor units, none negative on the invoice basis.
    Raises: InputError if the rate is no fraction from 0 to 1.
    Source: as for ``tax_due``: the seller may elect either basis.
    """
    if basis == "item":
        return [tax_due(amount, rate) for amount in amounts]
    return split_by_largest_remainder(tax_due(sum(amounts), rate), amounts)


def check_rate(rate: Decimal) -> None:
    """Refuse a rate that is no fraction, such as 6.25 where 0.0625 is meant.

    Raises: InputError.
    """
    if not rate.is_finite() or not 0 <= rate <= 1:
        raise InputError(
            f"A tax rate is a fraction from 0 to 1, such as 0.0625 for 6.25 %; {rate} is not."
        )
