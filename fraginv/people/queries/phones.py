"""Whom a shared phone knows, and who may take it over by PIN."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.secrets import hash_of
from fraginv.people.models import PhonePerson, Pin
from fraginv.people.queries.factors import people_with_factor
from fraginv.people.rules.pins import KNOWN, TRIES, may_use_pin


@dataclass(frozen=True)
class Known:
    """Somebody whom a phone knows; ``by_pin`` where a PIN is enough on it now."""

    person: Person
    by_pin: bool


def has_pin(person: Person) -> bool:
    """Tell whether somebody has set a PIN.

    Queries: 1.
    """
    return Pin.objects.filter(person=person).exists()


def rows_of_phone(token: str) -> QuerySet[PhonePerson]:
    """Return who signed in by password on a phone lately and may still sign in.

    Queries: none until it is read, then 1.
    """
    return (
        PhonePerson.objects.filter(
            phone__token_hash=hash_of(token),
            person__is_active=True,
            password_at__gt=clock.now() - KNOWN,
        )
        .select_related("person", "person__pin")
        .order_by("person__name", "pk")
    )


def known_on_phone(token: str) -> list[Known]:
    """Return whom a phone knows, by name.

    Queries: 2, none for a browser without a phone's cookie.
    """
    return list(known_of(rows_of_phone(token))) if token else []


def known_of(rows: QuerySet[PhonePerson]) -> Iterator[Known]:
    """Say of each row whether a PIN is enough.

    It is where there is one, the role may use it, there is no second factor,
    fewer than five were wrong on this phone since the last password, and
    neither password nor salt of the person have changed since that password.
    """
    careful = people_with_factor()
    for row in rows:
        person = row.person
        can_tap = may_use_pin(person.role, has_factor=person.pk in careful)
        same = row.visit_hash == person.get_session_auth_hash()
        by_pin = can_tap and same and row.wrong < TRIES and getattr(person, "pin", None) is not None
        yield Known(person, by_pin)


def who_on_phone(token: str, *, person_id: int) -> Known | None:
    """Return one whom a phone knows, or None.

    Queries: 2, none for a browser without a phone's cookie.
    """
    if not token:
        return None
    return next(known_of(rows_of_phone(token).filter(person_id=person_id)), None)
