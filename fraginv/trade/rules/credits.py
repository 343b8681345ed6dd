"""Credits of parts, worked out so that the parts add up to the whole."""

from dataclasses import dataclass
from fractions import Fraction

from fraginv.base.errors import InputError
from fraginv.base.rules.money import round_half_up


@dataclass(frozen=True, slots=True)
class Sold:
    """A line as it was sold: pieces, and what they came to in minor units."""

    pieces: int
    net: int
    tax: int


@dataclass(frozen=True, slots=True)
class Credited:
    """What has been credited of a line, or is by one paper: pieces and minor units."""

    pieces: int = 0
    net: int = 0
    tax: int = 0


def credit_pieces(sold: Sold, *, before: Credited, pieces: int) -> Credited:
    """Return what some of a line's pieces are credited with.

    The pieces credited so far and now are worth their exact share of the line,
    rounded half up; this credit is what that grows by, and never more than is
    open. The last pieces take all that is open, so all the parts of a line add
    up to the line.

    Raises: InputError for no pieces, or more than are open.
    """
    if pieces < 1:
        raise InputError(f"{pieces} pieces cannot be credited. Credit one or more.")
    still = sold.pieces - before.pieces
    if pieces > still:
        raise InputError(
            f"{pieces} pieces cannot be credited: {before.pieces} of the {sold.pieces} sold "
            f"are credited already, so {still} are left."
        )
    open_net = sold.net - before.net
    if pieces == still:
        net = open_net
    else:
        grown = value_of(sold, before.pieces + pieces) - value_of(sold, before.pieces)
        net = min(grown, open_net)
    return Credited(pieces=pieces, net=net, tax=tax_grown(sold, before=before, net=net))


def credit_allowance(sold: Sold, *, before: Credited, net: int) -> Credited:
    """Return the credit of an amount off pieces that the customer keeps.

    Args: ``net`` in minor units, without tax.
    Raises: InputError for nothing, or more than is open.
    """
    if net < 1:
        raise InputError("An allowance must be more than nothing.")
    if net > sold.net - before.net:
        raise InputError("The allowance is more than what is left of the line without tax.")
    return Credited(net=net, tax=tax_grown(sold, before=before, net=net))


def value_of(sold: Sold, pieces: int) -> int:
    """Return what the first pieces of a line are worth without tax, rounded half up."""
    return round_half_up(Fraction(sold.net * pieces, sold.pieces))


def tax_grown(sold: Sold, *, before: Credited, net: int) -> int:
    """Return the tax that goes with a credit: of all credited so far and now, less so far."""
    if not sold.net:
        return sold.tax - before.tax
    due = round_half_up(Fraction(sold.tax * (before.net + net), sold.net))
    return due - before.tax


def split_refund(total: int, *, owed: int) -> tuple[int, int]:
    """Return how much of a credit lowers what is owed, and how much goes back."""
    off_owed = min(total, owed)
    return off_owed, total - off_owed
