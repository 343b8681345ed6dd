"""Frags that are likely ready, to be looked at and graded."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import Q

from fraginv.base.errors import InputError
from fraginv.base.queries.looking import Common
from fraginv.base.queries.organisation import today
from fraginv.base.queries.portions import beyond
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.stock.models.frags import GROWS, LIVES

PAGE: Final = 40
ORDER: Final = ("likely_on", "pk")


@dataclass(frozen=True)
class Candidates:
    """One page of frags that are likely ready; ``after`` leads to the next one."""

    rows: Sequence[FragRow]
    after: str


def candidates(
    *, rack: int | None = None, trough: int | None = None, after: str = ""
) -> Candidates:
    """Return a page of frags that are likely ready, those that have been longest first.

    What is apart or in quarantine is none. Growing frags alone: who heals is looked at first.
    Args: ``after`` is where the page before ended.
    Raises: InputError for a page that nobody was given.
    Queries: 1.
    """
    found = listed().select_related("variety", "rack__trough").filter(LIVES, Q(Common(GROWS)))
    found = found.filter(likely_on__lte=today(), apart=False, quarantined=False)
    if rack is not None:
        found = found.filter(rack=rack)
    if trough is not None:
        found = found.filter(rack__trough=trough)
    if after:
        found = found.filter(beyond(ORDER, place=read_key(after)))
    rows = list(found.order_by(*ORDER)[: PAGE + 1])
    last = rows[PAGE - 1] if len(rows) > PAGE else None
    told = f"{last.likely_on}.{last.pk}" if last is not None else ""
    return Candidates(rows_of(rows[:PAGE]), told)


def read_key(text: str) -> tuple[date, int]:
    """Return the day and the id after which a page begins.

    Raises: InputError.
    """
    day, _, key = text.partition(".")
    try:
        return date.fromisoformat(day), int(key[:18])
    except ValueError as error:
        raise InputError("This page of the list is not there. Begin with the first.") from error
