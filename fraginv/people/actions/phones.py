"""Shared phones: who is known on one, and PINs to take it over."""

from dataclasses import dataclass

from django.contrib.auth.hashers import check_password, make_password
from django.db.models import F

from fraginv.base import chance, clock
from fraginv.base.errors import NotAllowed
from fraginv.base.models import Person
from fraginv.base.rules.secrets import hash_of
from fraginv.base.transactions import one_transaction
from fraginv.people.actions.passwords import note
from fraginv.people.models import CrewEvent, Phone, PhonePerson, Pin
from fraginv.people.queries.factors import has_factor
from fraginv.people.queries.phones import who_on_phone
from fraginv.people.rules.pins import KNOWN, TRIES, may_use_pin, read_pin


@dataclass(frozen=True)
class PinTry:
    """Who gave the right PIN, or how many tries are left before the password is needed."""

    person: Person | None
    left: int


@one_transaction
def set_pin(person: Person, *, pin: str) -> None:
    """Set or change somebody's PIN.

    Raises: NotAllowed for a role or a second factor that always asks for the
        password; InputError for no six digits or weak ones.
    Queries: 4 or 5.
    """
    if not may_use_pin(person.role, has_factor=has_factor(person)):
        raise NotAllowed("With your role or your second step the password is always needed.")
    hashed = make_password(read_pin(pin))
    Pin.objects.update_or_create(person=person, defaults={"hashed": hashed, "set_at": clock.now()})
    note(person, kind=CrewEvent.Kind.PIN, by=person)


@one_transaction
def remove_pin(person: Person) -> None:
    """Take somebody's PIN away.

    Queries: 1.
    """
    Pin.objects.filter(person=person).delete()


@one_transaction
def remember_phone(person: Person, *, token: str) -> str:
    """Write down that somebody signed in on a phone with the password just now.

    Args: ``token`` is what the phone's cookie said; empty or unknown for a new phone.
    Returns: what its cookie is to say.
    Queries: 4 to 8.
    """
    now = clock.now()
    phone = Phone.objects.filter(token_hash=hash_of(token)).first() if token else None
    if phone is None:
        token = chance.token()
        phone = Phone.objects.create(token_hash=hash_of(token), made_at=now, seen_at=now)
    else:
        Phone.objects.filter(pk=phone.pk).update(seen_at=now)
    PhonePerson.objects.update_or_create(
        phone=phone,
        person=person,
        defaults={
            "password_at": now,
            "wrong": 0,
            "visit_hash": person.get_session_auth_hash(),
        },
    )
    return token


def try_pin(person_id: int, *, token: str, pin: str) -> PinTry:
    """Look at a PIN for somebody on a phone.

    A try is counted before it is looked at, so that many at once are no more
    than five either; the right one takes the count back. Looking at it is slow
    on purpose, so nobody's writing waits for it: count and recount are a
    transaction each.

    Queries: 5 where a PIN is looked at, and 1 more where it is right; 2 where none is.
    """
    known = who_on_phone(token, person_id=person_id)
    if known is None or not known.by_pin:
        return PinTry(None, left=0)
    left = count_try(person_id, token=token)
    if left is None:
        return PinTry(None, left=0)
    if not check_password(pin.replace(" ", ""), known.person.pin.hashed):
        return PinTry(None, left=left)
    forget_tries(person_id, token=token)
    return PinTry(known.person, left=TRIES)


@one_transaction
def count_try(person_id: int, *, token: str) -> int | None:
    """Count one more PIN for somebody on a phone.

    The row is found first and then written by its own columns alone: a
    statement that joins another table would not look at the count again after
    it has waited for somebody else's.

    Returns: how many are left after it, or None where none was.
    Queries: 2 or 3.
    """
    known = PhonePerson.objects.filter(person_id=person_id, phone__token_hash=hash_of(token))
    row = known.first()
    if row is None:
        return None
    rows = PhonePerson.objects.filter(pk=row.pk, wrong__lt=TRIES)
    if not rows.update(wrong=F("wrong") + 1):
        return None
    row.refresh_from_db(fields=["wrong"])
    return TRIES - row.wrong


@one_transaction
def forget_tries(person_id: int, *, token: str) -> None:
    """Take back what was counted against somebody on a phone.

    Queries: 1.
    """
    rows = PhonePerson.objects.filter(person_id=person_id, phone__token_hash=hash_of(token))
    rows.update(wrong=0)


@one_transaction
def forget_on_phone(person_id: int, *, token: str) -> None:
    """Take somebody off a phone.

    Queries: 1.
    """
    PhonePerson.objects.filter(person_id=person_id, phone__token_hash=hash_of(token)).delete()


@one_transaction
def prune_phones() -> int:
    """Take away whom phones no longer know, and phones that know nobody; say how many rows went.

    Queries: 2 or 3.
    """
    gone = PhonePerson.objects.filter(password_at__lte=clock.now() - KNOWN).delete()[0]
    return gone + Phone.objects.filter(people__isnull=True).delete()[0]
