"""Telling the owner of an error, once for each kind and hour."""

import logging
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import DatabaseError, InterfaceError
from django.db.models import F

from fraginv.base import clock
from fraginv.base.models import Organisation
from fraginv.base.queries.people import people_active
from fraginv.base.rules.roles import Role
from fraginv.base.tasks import later, run_later
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.models import Alarm

log = logging.getLogger(__name__)

HOUR: Final = timedelta(hours=1)
KEPT: Final = timedelta(days=30)
TEXT: Final = """Something went wrong in fraginv that should not.

What:    {kind}
When:    {when:%Y-%m-%d %H:%M} UTC
{request}{before}
Look for it in the log of the machine, where its places in the code stand; it is
reported once an hour at most. Nothing that was answered is lost. If it comes again,
show this message and the log to whoever looks after fraginv.
"""


def alarm(kind: str, *, place: str, request_id: str = "") -> None:
    """Write an error down, and let it be mailed the first time in an hour.

    Where the database is away this is only logged.
    Args: ``kind`` is the error's class, ``place`` the page or task, ``request_id`` what the log
        calls the request; none is about a person.
    """
    try:
        write_alarm(f"{kind} in {place}"[:200], request_id=request_id)
    except (DatabaseError, InterfaceError):
        log.exception("An alarm could not be written down.")


@one_transaction
def write_alarm(kind: str, *, request_id: str) -> None:
    """Count an error of this hour; the first one is mailed if there is anywhere to mail it to."""
    now = clock.now()
    hour = now.replace(minute=0, second=0, microsecond=0)
    row, is_new = Alarm.objects.get_or_create(kind=kind, hour=hour)
    if not is_new:
        Alarm.objects.filter(pk=row.pk).update(times=F("times") + 1)
    elif settings.MAIL_IS_SET:
        run_later(mail_alarm, alarm_id=row.pk, at=now.isoformat(), request_id=request_id)


@later(title="Report an error by mail", tries=6)
def mail_alarm(alarm_id: int, *, at: str = "", request_id: str = "") -> None:
    """Mail an alarm to those who are told of errors; to nobody where nobody has an address."""
    found = Alarm.objects.filter(pk=alarm_id).first()
    to = told_of_errors()
    if found is None or not to:
        return
    house = Organisation.objects.filter(pk=1).first()
    subject = f"[{house.name if house else 'fraginv'}] {found.kind}"
    text = TEXT.format(
        kind=found.kind,
        when=datetime.fromisoformat(at) if at else found.hour,
        request=f"Request: {request_id}\n" if request_id else "",
        before=said_before(found),
    )
    EmailMessage(subject.replace("\n", " "), text, to=list(to)).send()


def told_of_errors() -> Sequence[str]:
    """Return the addresses that errors are mailed to: those that are set, else the owners'."""
    if settings.ENVIRONMENT.alarms:
        return tuple(settings.ENVIRONMENT.alarms)
    owners = people_active().filter(role=Role.OWNER.value).exclude(email="")
    return tuple(owners.values_list("email", flat=True))


def said_before(found: Alarm) -> str:
    """Say how often the same happened when it was reported last, or nothing."""
    last = Alarm.objects.filter(kind=found.kind, hour__lt=found.hour).order_by("-hour").first()
    if last is None:
        return ""
    times = f"{last.times} times" if last.times != 1 else "once"
    return f"Before:  {times} in the hour from {last.hour:%Y-%m-%d %H:%M} UTC\n"


@one_transaction
def prune_alarms() -> int:
    """Forget alarms of more than a month ago; return how many."""
    return int(Alarm.objects.filter(hour__lt=clock.now() - KEPT).delete()[0])
