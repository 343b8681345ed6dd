"""Keeping the months' sums together with the papers that change them."""

from collections.abc import Iterable

from django.db.models import Model

from fraginv.base.actions.tallies import add_to_tallies
from fraginv.trade.rules.tallies import Summed


def add_rows(summed: Summed, rows: Iterable[Model]) -> None:
    """Add rows that the action just wrote to what is kept of their months."""
    add_to_tallies(summed.tallies(vars(row) for row in rows))
