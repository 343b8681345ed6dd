"""Everything that ``verify`` compares, package by package."""

from collections.abc import Iterator

from fraginv.base.rules.differences import Difference
from fraginv.base.rules.tallies import Tallies
from fraginv.base.transactions import one_snapshot
from fraginv.costs.queries import cost_differences
from fraginv.growth.queries.intake import incoming_differences
from fraginv.growth.queries.photos import photo_differences
from fraginv.growth.queries.size_differences import size_differences
from fraginv.ledger.queries import ledger_differences, ledger_tallies
from fraginv.reports.queries.entries import report_differences
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.stops import stop_tallies
from fraginv.stock.queries.tallies import stock_tallies
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.queries.tallies import trade_tallies


def sums() -> Iterator[Tallies]:
    """Yield what is kept of sums, added up from what there is.

    Queries: those of each package, read in portions.
    """
    yield stock_tallies()
    yield stop_tallies()
    yield trade_tallies()
    yield ledger_tallies()


def differences() -> Iterator[Difference]:
    """Yield every place where two things that must agree do not, all as of one moment.

    Queries: those of each package, read in portions.
    """
    with one_snapshot():
        yield from stock_differences()
        yield from photo_differences()
        yield from incoming_differences()
        yield from size_differences()
        yield from ledger_differences()
        yield from trade_differences()
        yield from cost_differences()
        yield from report_differences()
