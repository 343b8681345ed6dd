"""Who has a second factor, and what is left of it."""

from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from fraginv.base.models import Person


def has_factor(person: Person) -> bool:
    """Tell whether somebody gives a code after the password.

    Queries: 1.
    """
    return bool(TOTPDevice.objects.filter(user=person, confirmed=True).exists())


def people_with_factor() -> set[int]:
    """Return the ids of everybody who gives a code after the password.

    Queries: 1.
    """
    rows = TOTPDevice.objects.filter(confirmed=True)
    return set(rows.values_list("user_id", flat=True))


def recovery_codes_left(person: Person) -> int:
    """Count the recovery codes that somebody has not used yet.

    Queries: 1.
    """
    return int(StaticToken.objects.filter(device__user=person).count())


def key_in_waiting(person: Person) -> TOTPDevice | None:
    """Return the key that somebody was shown and has not confirmed by a code.

    Queries: 1.
    """
    return TOTPDevice.objects.filter(user=person, confirmed=False).first()
