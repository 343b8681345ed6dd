"""Sales from before the records began: rows of a table, put together into sales."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

from fraginv.base.rules.money import decimal_text
from fraginv.base.rules.problems import Problem
from fraginv.base.rules.tax import tax_due
from fraginv.ledger.rules import OPENING
from fraginv.trade.rules.words import RETAIL, Means


@dataclass(frozen=True, slots=True)
class LoadedLine:
    """One row of the table; amounts in minor units, ``frag`` where a code was given.

    ``tax_rate`` is None where the row states its tax, or has none.
    """

    line: int
    day: date
    customer: str
    kind: str
    channel: str
    variety: int
    group: str
    text: str
    size: str
    frag: int | None
    quantity: int
    unit_price: int
    discount: int
    tax_rate: Decimal | None
    tax: int
    paid: int
    means: str

    @property
    def gross(self) -> int:
        """Return pieces times price."""
        return self.quantity * self.unit_price

    @property
    def net(self) -> int:
        """Return what is left after the discount."""
        return self.gross - self.discount


@dataclass(frozen=True, slots=True)
class LoadedSale:
    """Lines of one day, customer and channel that follow each other."""

    lines: tuple[LoadedLine, ...]

    @property
    def first(self) -> LoadedLine:
        """Return the line that says whose sale it is."""
        return self.lines[0]

    @property
    def net(self) -> int:
        """Return the sum without tax."""
        return sum(line.net for line in self.lines)

    @property
    def tax(self) -> int:
        """Return the sum of the lines' tax."""
        return sum(line.tax for line in self.lines)

    @property
    def total(self) -> int:
        """Return the sum with tax."""
        return self.net + self.tax

    @property
    def kind(self) -> str:
        """Return the kind of customer, retail where no line names one."""
        return next((line.kind for line in self.lines if line.kind), RETAIL)

    @property
    def one_rate(self) -> Decimal | None:
        """Return the rate of all lines, or None where they differ or state their tax."""
        rates = {line.tax_rate for line in self.lines}
        return rates.pop() if len(rates) == 1 else None

    def by_group(self, column: str) -> dict[str, int]:
        """Add up a column for each group."""
        found: dict[str, int] = {}
        for line in self.lines:
            found[line.group] = found.get(line.group, 0) + getattr(line, column)
        return found

    def received(self) -> dict[str, int]:
        """Return what was received by each means; cash where an amount names none."""
        found: dict[str, int] = {}
        for line in self.lines:
            if line.paid:
                means = line.means or Means.CASH.value
                found[means] = found.get(means, 0) + line.paid
        return found


def tax_of_row(net: int, *, rate: Decimal | None, stated: int | None) -> int:
    """Return the tax that a row states, or that of its rate; none where there is neither."""
    if stated is not None:
        return stated
    return tax_due(net, rate) if rate is not None else 0


def sales_of(lines: Sequence[LoadedLine]) -> list[LoadedSale]:
    """Put lines of one day, customer and channel that follow each other into one sale."""
    grouped = groupby(lines, key=lambda line: (line.day, line.customer.casefold(), line.channel))
    return [LoadedSale(tuple(rows)) for _, rows in grouped]


def overpaid(sales: Sequence[LoadedSale], *, currency: str) -> list[Problem]:
    """Return a problem for each sale for which more was paid than it comes to."""
    found = []
    for sale in sales:
        paid = sum(sale.received().values())
        if paid > sale.total:
            last = [line.line for line in sale.lines if line.paid][-1]
            found.append(
                Problem(
                    last,
                    "paid",
                    f"{decimal_text(paid, currency=currency)} is paid for this sale, which comes "
                    f"to {decimal_text(sale.total, currency=currency)} with tax.",
                )
            )
    return found


def said_of(lines: Sequence[LoadedLine]) -> list[str]:
    """Return what the reader of a table should know about how its payments were taken."""
    assumed = sum(1 for line in lines if line.paid and not line.means)
    unpaid = sum(
        1 for line in lines if line.means and line.means != Means.ACCOUNT and not line.paid
    )
    spent = sum(1 for line in lines if line.paid and line.means == Means.ACCOUNT)
    said = []
    if assumed:
        said.append(f"Rows with an amount paid and no means: {assumed}; they count as cash.")
    if unpaid:
        said.append(
            f"Rows with a means and no amount paid: {unpaid}; nothing counts as received for them."
        )
    if spent:
        said.append(
            f"Rows with an amount paid from an account: {spent}; they spent a credit from before "
            f"the records began, so they stand against the opening balances, account {OPENING}."
        )
    return said
