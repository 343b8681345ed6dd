"""Which sums are kept of the trade's papers, month by month."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from fraginv.base.rules.tallies import Tallies, tally_name

NOTHING: Final = "none"
INCOME: Final = "income"
ON_SALES: Final = tally_name(INCOME, "sales")
ON_CASH: Final = tally_name(INCOME, "cash")


@dataclass(frozen=True)
class Summed:
    """What is added up of one kind of rows: columns, for each month and each value of others.

    ``income`` is the sum over all of them that one column adds to, with its sign.
    """

    under: str
    model: str
    by: tuple[str, ...]
    columns: Mapping[str, str]
    where: Mapping[str, Any] = field(default_factory=dict)
    income: tuple[str, str, int] | None = None

    def tallies(self, rows: Iterable[Mapping[str, Any]]) -> Tallies:
        """Add up rows, or sums of rows, each with its month, values and columns."""
        found = Tallies()
        for row in rows:
            values = [row[column] or NOTHING for column in self.by]
            for name, column in self.columns.items():
                found[row["month"], tally_name(self.under, *values, name)] += row[column]
            if self.income is not None:
                total, column, sign = self.income
                found[row["month"], total] += sign * row[column]
        return found


SOLD: Final = Summed(
    "sold",
    "SaleLine",
    ("channel", "group"),
    {
        "gross": "gross",
        "discount": "discount",
        "net": "net",
        "tax": "tax",
        "pieces": "quantity",
    },
    income=(ON_SALES, "net", 1),
)
CREDITED: Final = Summed(
    "credited",
    "CreditLine",
    ("channel", "group"),
    {"net": "net", "tax": "tax"},
    income=(ON_SALES, "net", -1),
)
PAID: Final = Summed("paid", "Payment", ("means",), {"amount": "amount", "tax": "tax"})
REFUNDED: Final = Summed(
    "refunded", "Credit", ("refund_means",), {"amount": "refund", "tax": "refund_tax"}
)
TAKEN: Final = Summed(
    "taken",
    "Taking",
    ("channel", "group"),
    {"amount": "amount"},
    where={"credit__isnull": True},
    income=(ON_CASH, "amount", 1),
)
GIVEN: Final = Summed(
    "given",
    "Taking",
    ("channel", "group"),
    {"amount": "amount"},
    where={"payment__isnull": True},
    income=(ON_CASH, "amount", 1),
)
KEPT: Final = (SOLD, CREDITED, PAID, REFUNDED, TAKEN, GIVEN)
UNDER: Final = (*(summed.under for summed in KEPT), INCOME)
