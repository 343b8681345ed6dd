"""What a month comes to, and what share of the display's costs the frags carried."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from fraginv.base.rules.days import show_month
from fraginv.base.rules.money import round_half_up

SHARE_PLACES: Final = 4


@dataclass(frozen=True, slots=True)
class FragFigures:
    """A month in the troughs, in pieces.

    ``cut`` came in alive, by a cutting here or from elsewhere; ``lost`` died
    or vanished in the troughs; ``lost_at_bench`` never reached them and is in
    neither; ``sold`` counts unnamed pieces too; ``ready_at_end`` stood ready
    for sale when the month ended, or stand so now where it has not.
    """

    cut: int = 0
    lost: int = 0
    lost_at_bench: int = 0
    sold: int = 0
    ready_at_end: int = 0


@dataclass(frozen=True)
class MonthFigures:
    """A month's figures; amounts in minor units of ``currency``.

    ``gross`` less ``discounts`` less ``credits`` is ``net``, without tax;
    ``by_channel`` and ``by_group`` each add up to it. ``running_by_kind`` is
    the display's part paid or owed (``metered`` is inside it), ``in_kind`` the
    value given to the display beside it. ``direct_by_kind`` is what only frags
    need. On the cash basis income is what was received for goods, and costs
    what was paid.
    """

    month: int
    currency: str
    basis: str
    gross: int
    discounts: int
    credits: int
    by_channel: Mapping[str, int]
    by_group: Mapping[str, int]
    tax_collected: int
    receipts_by_means: Mapping[str, int]
    running_by_kind: Mapping[str, int]
    direct_by_kind: Mapping[str, int]
    in_kind: int
    in_kind_direct: int
    owed_to_owners: int
    frags: FragFigures
    metered: int = 0

    @property
    def net(self) -> int:
        """Return income without tax, after discounts and credits."""
        return self.gross - self.discounts - self.credits

    @property
    def receipts(self) -> int:
        """Return what came in less what was given back."""
        return sum(self.receipts_by_means.values())

    @property
    def running(self) -> int:
        """Return the display's running costs."""
        return sum(self.running_by_kind.values())

    @property
    def direct(self) -> int:
        """Return the frags' own direct costs."""
        return sum(self.direct_by_kind.values())

    @property
    def result(self) -> int:
        """Return net income less the frags' direct costs, less the display's running costs.

        What is given in kind costs no money and is in none of the three.
        """
        return self.net - self.direct - self.running

    @property
    def share_carried(self) -> Decimal | None:
        """Return net income as a share of the running costs, or None where there are none."""
        return share_of(self.net, whole=self.running)

    @property
    def share_carried_net(self) -> Decimal | None:
        """Return the same after the frags' own direct costs."""
        return share_of(self.net - self.direct, whole=self.running)

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing was sold, credited, received, paid or given in the month."""
        amounts = (self.gross, self.credits, self.running, self.direct)
        given = (self.in_kind, self.in_kind_direct)
        return not any((*amounts, *given, *self.receipts_by_means.values(), self.frags.sold))


def share_of(part: int, *, whole: int) -> Decimal | None:
    """Return a part of a whole with four decimals, rounded half up once; None of nothing."""
    if whole == 0:
        return None
    steps = round_half_up(Fraction(part * 10**SHARE_PLACES, whole))
    return Decimal(steps).scaleb(-SHARE_PLACES)


def share_text(share: Decimal | None) -> str | None:
    """Write a share as a string with four decimals."""
    return None if share is None else f"{share:.4f}"


def month_document(figures: MonthFigures) -> dict[str, object]:
    """Return the month as one JSON document; amounts in minor units, shares as strings."""
    frags = figures.frags
    return {
        "month": show_month(figures.month),
        "currency": figures.currency,
        "basis": figures.basis,
        "income": {
            "gross": figures.gross,
            "discounts": figures.discounts,
            "credits": figures.credits,
            "net": figures.net,
            "by_channel": dict(figures.by_channel),
            "by_group": dict(figures.by_group),
        },
        "tax_collected": figures.tax_collected,
        "receipts": {"total": figures.receipts, "by_means": dict(figures.receipts_by_means)},
        "running_costs": {
            "total": figures.running,
            "by_kind": dict(figures.running_by_kind),
            "metered": figures.metered,
            "in_kind": figures.in_kind,
        },
        "direct_costs": {"total": figures.direct, "by_kind": dict(figures.direct_by_kind)},
        "share_carried": share_text(figures.share_carried),
        "share_carried_net": share_text(figures.share_carried_net),
        "result": figures.result,
        "owed_to_owners": figures.owed_to_owners,
        "frags": {
            "cut": frags.cut,
            "lost": frags.lost,
            "sold": frags.sold,
            "ready_at_end": frags.ready_at_end,
        },
    }


def largest_first(amounts: Mapping[str, int], *, most: int) -> list[tuple[str, int]]:
    """Return named amounts, the largest first; those beyond ``most`` rows as one last row."""
    rows = sorted(amounts.items(), key=lambda row: (-row[1], row[0]))
    if len(rows) <= most:
        return rows
    rest = rows[most - 1 :]
    return [*rows[: most - 1], (f"{len(rest)} others", sum(amount for _, amount in rest))]
