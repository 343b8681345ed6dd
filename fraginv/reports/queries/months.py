"""The month, put together from the trade, the costs, the stock and the ledger."""

from fraginv.base.errors import InputError
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.base.queries.tallies import tallies_of_month
from fraginv.base.rules.days import month_of, months_before, parse_month, show_month
from fraginv.base.rules.tallies import tallies_under
from fraginv.costs.queries import costs_of_month, running_costs_of_months
from fraginv.costs.rules import Basis, read_basis
from fraginv.ledger.rules import ACCOUNT, OWED_TO_OWNERS
from fraginv.reports.queries.troughs import frag_figures
from fraginv.reports.rules.figures import MonthFigures
from fraginv.reports.rules.trend import TrendMonth
from fraginv.trade.queries.months import MonthBasis, income_of_months, sales_of_month

TREND_MONTHS = 12


def month_figures(month: int, *, basis: str = Basis.SALES) -> MonthFigures:
    """Return a month's figures, given as 202611.

    Args: ``basis`` is ``sales`` or ``cash``.
    Raises: InputError for another basis, or a month that has not come.
    Queries: 4; and 1 outside a request. No statement returns more rows than there
        are channels with groups, kinds of cost, or accounts.
    """
    chosen = trade_basis(basis)
    with organisation_kept() as house:
        check_has_come(month)
        kept = tallies_of_month(month)
        sales = sales_of_month(month, basis=chosen, kept=kept)
        costs = costs_of_month(month, basis=chosen)
        owners = tallies_under(ACCOUNT, kept).get((OWED_TO_OWNERS, "credit"), 0)
        return MonthFigures(
            month=month,
            currency=house.currency,
            basis=chosen,
            gross=sales.gross,
            discounts=sales.discounts,
            credits=sales.credits,
            by_channel=sales.by_channel,
            by_group=sales.by_group,
            tax_collected=sales.tax_collected,
            receipts_by_means=sales.receipts_by_means,
            running_by_kind=costs.display_by_kind,
            direct_by_kind=costs.direct_by_kind,
            in_kind=costs.in_kind,
            in_kind_direct=costs.in_kind_direct,
            owed_to_owners=owners,
            frags=frag_figures(month, sold=sales.sold, kept=kept),
        )


def trade_basis(basis: str) -> MonthBasis:
    """Return the basis as the trade's queries take it.

    Raises: InputError naming the two.
    """
    return "cash" if read_basis(basis) == Basis.CASH else "sales"


def read_past_month(text: str) -> int:
    """Read a month such as 2026-11 that has begun.

    Raises: InputError for what is no month, and for one that has not come.
    Queries: 1 outside a request.
    """
    month = parse_month(text)
    check_has_come(month)
    return month


def check_has_come(month: int) -> None:
    """Refuse a month that has not begun.

    Raises: InputError naming the latest that has.
    Queries: 1 outside a request.
    """
    latest = month_of(today())
    if month > latest:
        raise InputError(
            f"{show_month(month)} has not come yet. The latest month is {show_month(latest)}."
        )


def month_trend(month: int, *, basis: str = Basis.SALES) -> list[TrendMonth]:
    """Return the twelve months up to and with one, whether or not they have figures.

    Raises: InputError for another basis, or where the calendar begins.
    Queries: 2.
    """
    chosen = trade_basis(basis)
    months = [months_before(month, back) for back in range(TREND_MONTHS - 1, -1, -1)]
    income = income_of_months(months[0], last=month, basis=chosen)
    running = running_costs_of_months(months[0], last=month, basis=chosen)
    return [TrendMonth(one, income.get(one, 0), running.get(one, 0)) for one in months]
