"""What a password must be, for forms, commands and actions alike."""

from django.contrib.auth.password_validation import CommonPasswordValidator, validate_password
from django.core.exceptions import ValidationError

from fraginv.base.errors import InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.queries.organisation import present
from fraginv.base.rules.passwords import ADVICE, ADVISED, LEAST, why_weak

HELP = f"At least {LEAST} characters, better {ADVISED}. {ADVICE} Any characters will do."


class GoodPassword:
    """Refuse what is easy to guess; Django asks this wherever a password is set."""

    def __init__(self) -> None:
        self.common = CommonPasswordValidator().passwords

    def validate(self, password: str, user: object = None) -> None:
        """Look at a password that somebody wants to have.

        Raises: ValidationError saying why it will not do.
        """
        names = [house.name] if (house := known_house()) else []
        if isinstance(user, Person):
            names += [user.name, user.username, user.email.partition("@")[0]]
        if why := why_weak(password, common=self.common, names=names):
            raise ValidationError(why, code="password_weak")

    def get_help_text(self) -> str:
        """Say what is asked for."""
        return HELP


def known_house() -> Organisation | None:
    """Return the organisation, if there is one yet.

    Queries: 1, or none inside a request.
    """
    return present.get() or Organisation.objects.filter(pk=1).first()


def refuse_weak(password: str, *, person: Person) -> None:
    """Refuse a password that is easy to guess, for this person above all.

    Raises: InputError.
    """
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise InputError(" ".join(error.messages)) from error
