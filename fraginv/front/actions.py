"""The first run."""

from dataclasses import dataclass

from django.utils.text import slugify

from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.errors import InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.rules.roles import Role
from fraginv.base.transactions import one_transaction


@dataclass(frozen=True)
class Founding:
    """What is asked before the first organisation is written down."""

    name: str
    currency: str
    zone: str
    label_host: str


@dataclass(frozen=True)
class Owner:
    """What is asked before the first owner is written down."""

    name: str
    password: str


def username_of(name: str) -> str:
    """Return the sign-in name that a name gives: ``mira.holt`` for Mira Holt.

    Raises: InputError for a name without a letter or digit of the Latin alphabet.
    """
    username = slugify(name).replace("-", ".")[:40].strip(".")
    if not username:
        raise InputError(f"{name!r} gives no sign-in name. Write it in Latin letters.")
    return username


@one_transaction
def begin(
    founding: Founding | None, *, owner: Owner | None
) -> tuple[Organisation | None, Person | None]:
    """Write down the organisation and its first owner, or whichever is missing; both or neither.

    Raises: InputError and Conflict as the two actions.
    """
    organisation = person = None
    if founding is not None:
        organisation = found_organisation(
            founding.name,
            currency=founding.currency,
            zone=founding.zone,
            label_host=founding.label_host,
        )
    if owner is not None:
        person = add_person(
            username_of(owner.name), name=owner.name, role=Role.OWNER, password=owner.password
        )
    return organisation, person
