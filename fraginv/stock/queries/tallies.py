"""Adding the stock up from its events."""

from collections.abc import Sequence
from contextlib import suppress
from itertools import groupby
from typing import Any

from django.db.models import Model

from fraginv.base.errors import Conflict
from fraginv.base.rules.tallies import Tallies
from fraginv.stock.models import FragEvent
from fraginv.stock.rules.events import states
from fraginv.stock.rules.happenings import FragState, Happening, Kind
from fraginv.stock.rules.tallies import tallies_of

# What a log that was tampered with may raise when it is followed.
UNFOLLOWED = (Conflict, AttributeError, LookupError, TypeError, ValueError)


def stock_tallies(event: type[Model] = FragEvent) -> Tallies:
    """Return what the events of all frags come to; a log that cannot be followed is left out.

    Args: the model, which a migration gives in the form it had then.
    Queries: 1, read in portions.
    """
    counted = Tallies()
    events = event._default_manager.order_by("frag_id", "seq").iterator(chunk_size=2000)
    for _, log in groupby(events, key=lambda one: vars(one)["frag_id"]):
        alone = Tallies()
        with suppress(*UNFOLLOWED):
            count_log(list(log), counted=alone)
            counted.update(alone)
    return counted


def count_log(log: Sequence[Any], *, counted: Tallies) -> FragState:
    """Return what a log leads to, and add what it comes to.

    Raises: what ``follow`` raises for a log that cannot be followed.
    """
    before = FragState()
    happened = (Happening(Kind(event.kind), event.day, event.body) for event in log)
    for event, after in zip(log, states(happened), strict=True):
        for key, amount in tallies_of(before, after, kind=event.kind, month=event.month).items():
            counted[key] += amount
        before = after
    return before
