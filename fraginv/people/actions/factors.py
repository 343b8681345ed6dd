"""Second factors: a key in a phone, and recovery codes for when the phone is gone."""

from dataclasses import dataclass
from datetime import datetime

from django.utils.crypto import salted_hmac
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from fraginv.base import chance
from fraginv.base.errors import Conflict, NotAllowed
from fraginv.base.models import Person
from fraginv.base.models.people import new_salt
from fraginv.base.rules.codes import ALPHABET
from fraginv.base.rules.roles import Right
from fraginv.base.transactions import one_transaction
from fraginv.people.actions.passwords import note
from fraginv.people.models import CrewEvent
from fraginv.people.queries.factors import has_factor
from fraginv.people.rules.factors import (
    RECOVERY_CODES,
    RECOVERY_LENGTH,
    read_code,
    read_recovery,
)

NAME = "phone"


@dataclass(frozen=True)
class SecondTry:
    """Whether a code was right; ``wait_until`` is when the next one is looked at."""

    is_right: bool
    wait_until: datetime | None = None


@one_transaction
def start_factor(person: Person) -> TOTPDevice:
    """Draw a new key for somebody, who has to confirm it by a code.

    Raises: Conflict where one is in use.
    Queries: 3.
    """
    if has_factor(person):
        raise Conflict("You have a second step already. Take it off first to set up another phone.")
    TOTPDevice.objects.filter(user=person).delete()
    return TOTPDevice.objects.create(user=person, name=NAME, confirmed=False)


@one_transaction
def confirm_factor(person: Person, *, code: str) -> list[str]:
    """Put a key to use by the first code from it, and give its recovery codes.

    All visits of the person end, as they began without a second step; the
    caller keeps the present one.

    Returns: the recovery codes, which are kept nowhere, or nothing where the code was wrong.
    Raises: Conflict where no key waits.
    """
    device = TOTPDevice.objects.select_for_update().filter(user=person, confirmed=False).first()
    if device is None:
        raise Conflict("There is no key to confirm any more. Begin again.")
    if not device.verify_token(read_code(code)):
        return []
    TOTPDevice.objects.filter(pk=device.pk).update(confirmed=True)
    person.session_salt = new_salt()
    person.save(update_fields=["session_salt"])
    note(person, kind=CrewEvent.Kind.SECURED, by=person)
    return draw_recovery(person)


@one_transaction
def renew_recovery(person: Person) -> list[str]:
    """Give somebody other recovery codes.

    Queries: 5.
    """
    note(person, kind=CrewEvent.Kind.CODES, by=person)
    return draw_recovery(person)


@one_transaction
def draw_recovery(person: Person) -> list[str]:
    """Draw recovery codes anew; the old ones open nothing any more.

    Queries: 4.
    """
    StaticDevice.objects.filter(user=person).delete()
    device = StaticDevice.objects.create(user=person, name=NAME)
    codes = [drawn_code() for _ in range(RECOVERY_CODES)]
    tokens = [StaticToken(device=device, token=kept_as(code, person=person)) for code in codes]
    StaticToken.objects.bulk_create(tokens)
    return codes


def drawn_code() -> str:
    """Draw a recovery code of 50 bits."""
    return "".join(chance.choice(ALPHABET) for _ in range(RECOVERY_LENGTH))


def kept_as(code: str, *, person: Person) -> str:
    """Return what is kept of a recovery code: nothing that leads back without the signing key."""
    text = f"{person.pk}:{code}"
    return salted_hmac("fraginv.recovery", text, algorithm="sha256").hexdigest()[:16]


@one_transaction
def try_code(person: Person, *, code: str) -> SecondTry:
    """Look at a code from the phone; each is good once, and wrong ones make everybody wait.

    Lock: holds the key's row until the transaction ends.
    Queries: 2.
    """
    rows = TOTPDevice.objects.select_for_update().filter(user=person, confirmed=True)
    return tried(rows.first(), read_code(code))


@one_transaction
def try_recovery(person: Person, *, code: str) -> SecondTry:
    """Look at a recovery code; each is good once, and wrong ones make everybody wait.

    Lock: holds the row of the person's codes until the transaction ends.
    Queries: 3 or 4.
    """
    device = StaticDevice.objects.select_for_update().filter(user=person).first()
    answer = tried(device, kept_as(read_recovery(code), person=person))
    if answer.is_right:
        note(person, kind=CrewEvent.Kind.RECOVERY, by=person)
    return answer


def tried(device: TOTPDevice | StaticDevice | None, token: str) -> SecondTry:
    """Ask a device about a token, or say how long it looks at none."""
    if device is None:
        return SecondTry(is_right=False)
    is_allowed, reason = device.verify_is_allowed()
    if not is_allowed:
        return SecondTry(is_right=False, wait_until=(reason or {}).get("locked_until"))
    return SecondTry(is_right=bool(device.verify_token(token)))


@one_transaction
def remove_factor(person_id: int, *, by: Person) -> None:
    """Take the second step off somebody: the person, or an owner for who lost the phone.

    Raises: NotAllowed for anybody else.
    Queries: 4 to 8.
    """
    if by.pk != person_id and not by.can(Right.MANAGE_PEOPLE):
        raise NotAllowed("Only an owner takes the second step off somebody else.")
    if TOTPDevice.objects.filter(user_id=person_id, confirmed=True).exists():
        note(Person.objects.get(pk=person_id), kind=CrewEvent.Kind.FACTOR, by=by)
    TOTPDevice.objects.filter(user_id=person_id).delete()
    StaticDevice.objects.filter(user_id=person_id).delete()
