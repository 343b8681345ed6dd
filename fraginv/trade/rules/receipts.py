"""Payments: what may be taken, and how much of it is for goods."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil, floor
from typing import TypeVar

from fraginv.base.errors import InputError
from fraginv.base.rules.money import named_text, round_half_up, split_by_largest_remainder

Key = TypeVar("Key")


@dataclass(frozen=True)
class Standing:
    """What a sale comes to after credits, what was received, and for which groups; minor units."""

    net: int
    total: int
    received: int = 0
    by_group: Mapping[str, int] = field(default_factory=dict)
    taken: Mapping[str, int] = field(default_factory=dict)


def check_payment(amount: int, *, owed: int, currency: str) -> None:
    """Refuse a payment of nothing or of more than is owed.

    Raises: InputError with both amounts.
    """
    if amount <= 0:
        raise InputError("A payment must be more than nothing.")
    if amount > owed:
        raise InputError(
            f"A payment of {named_text(amount, currency=currency)} is more than what is owed, "
            f"{named_text(owed, currency=currency)}. Take what is owed and give change."
        )


def goods_of(received: int, *, net: int, total: int) -> int:
    """Return how much of what was received is for goods, without tax, in minor units.

    Tax and goods are paid in proportion: the exact share, rounded half up once.

    Args: ``received`` so far; ``net`` and ``total`` of the sale after its credits.
    """
    return round_half_up(Fraction(received * net, total)) if total else 0


def spread(goods: int, weights: Mapping[Key, int], *, before: Mapping[Key, int]) -> dict[Key, int]:
    """Return what each part of a sale (a group, say) gets of goods received.

    All that was received so far is split by largest remainder over what the
    parts come to now; what each had before is taken off. So the steps of one
    part add up to its share, and the parts of one step to the step.

    Args: ``goods`` received so far with this step; ``weights`` what each part
        comes to after credits; ``before`` what each part had got.
    Returns: the parts that change; a part can be negative.
    """
    keys = list(weights)
    shares = split_by_largest_remainder(goods, [weights[key] for key in keys])
    now = dict(zip(keys, shares, strict=True))
    steps = {key: now.get(key, 0) - before.get(key, 0) for key in {**before, **now}}
    return {key: step for key, step in steps.items() if step}


def astray(goods: int, weights: Mapping[Key, int], *, taken: Mapping[Key, int]) -> list[Key]:
    """Return the parts that were not given their share of goods received.

    A share is exact and rounded down or up, as ``spread`` does it in the end.
    """
    whole = sum(weights.values())
    found = []
    for key in {**weights, **taken}:
        share = Fraction(goods * weights.get(key, 0), whole) if whole else Fraction(0)
        if not floor(share) <= taken.get(key, 0) <= ceil(share):
            found.append(key)
    return found


def receive(standing: Standing, amount: int) -> tuple[dict[str, int], Standing]:
    """Return what a payment brings for the goods of each group, and how the sale stands then."""
    received = standing.received + amount
    goods = goods_of(received, net=standing.net, total=standing.total)
    steps = spread(goods, standing.by_group, before=standing.taken)
    taken = {
        group: standing.taken.get(group, 0) + steps.get(group, 0)
        for group in {**standing.taken, **steps}
    }
    return steps, replace(standing, received=received, taken=taken)
