"""Whose tool this is, and which day it is there."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.models import Organisation
from fraginv.base.rules.days import business_day

present: ContextVar[Organisation | None] = ContextVar("organisation", default=None)


def organisation() -> Organisation:
    """Return the organisation; inside a request the one read at its start.

    Raises: NotFound before the first run has made one.
    Queries: 1, or none inside a request.
    """
    known = present.get()
    if known is not None:
        return known
    found = Organisation.objects.filter(pk=1).first()
    if found is None:
        raise NotFound(
            "There is no organisation yet. Run `python manage.py start` and answer its questions."
        )
    return found


@contextmanager
def organisation_kept() -> Iterator[Organisation]:
    """Give the organisation, read once for everything that is done inside.

    Raises: NotFound as ``organisation``.
    Queries: 1, or none inside a request.
    """
    found = organisation()
    token = present.set(found)
    try:
        yield found
    finally:
        present.reset(token)


def today() -> date:
    """Return the business day in the organisation's time zone.

    Queries: as ``organisation``.
    """
    return business_day(clock.now(), organisation().zone)
