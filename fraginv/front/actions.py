"""The first run, and the house's own page."""

from dataclasses import dataclass
from decimal import Decimal

from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.actions.organisation import HouseFacts, change_organisation
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.roles import Role
from fraginv.base.transactions import one_transaction
from fraginv.front.queries.house import money_is_written, what_is_missing
from fraginv.people.rules.invitations import propose_username
from fraginv.trade.actions.pricing import set_tax_rate
from fraginv.trade.rules.words import Basis


@dataclass(frozen=True)
class Founding:
    """What is asked before the first organisation is written down."""

    name: str
    currency: str
    zone: str
    label_host: str
    locale: str = "en_US"
    paper: str = Organisation.Paper.LETTER


@dataclass(frozen=True)
class Owner:
    """What is asked before the first owner is written down."""

    name: str
    password: str


@dataclass(frozen=True)
class Tax:
    """The sales tax from the first day on; ``rate`` is a fraction."""

    rate: Decimal
    name: str = "Sales tax"


def username_of(name: str) -> str:
    """Return the sign-in name that a name gives: ``mira.holt`` for Mira Holt.

    Raises: InputError for a name without a letter or digit of the Latin alphabet.
    """
    username = propose_username(name)
    if not username:
        raise InputError(f"{name!r} gives no sign-in name. Write it in Latin letters.")
    return username


@one_transaction
def begin(
    founding: Founding | None, *, owner: Owner | None, tax: Tax | None = None
) -> tuple[Organisation | None, Person | None]:
    """Write down the organisation, its first owner and the tax, or whichever is missing.

    Raises: InputError and Conflict as the actions; Conflict where somebody else
        was first.
    """
    house = person = None
    if founding is not None:
        house = found_organisation(
            founding.name,
            currency=founding.currency,
            zone=founding.zone,
            label_host=founding.label_host,
            locale=founding.locale,
            paper=founding.paper,
        )
    if owner is not None:
        # One after the other, so that two who were given the link do not both become the first.
        Organisation.objects.select_for_update().get(pk=1)
        if not what_is_missing().owner:
            raise Conflict("There is an owner already, who can invite everybody else.")
        person = add_person(
            username_of(owner.name), name=owner.name, role=Role.OWNER, password=owner.password
        )
        if tax is not None:
            set_tax_rate(tax.rate, basis=Basis.INVOICE, by=person, name=tax.name)
    return house, person


@one_transaction
def change_house(facts: HouseFacts, *, currency: str) -> Organisation:
    """Change the organisation, its currency only while no amount is written anywhere.

    Raises: Conflict for another currency once there are amounts; InputError as
        ``change_organisation``.
    """
    present = organisation().currency
    if currency.upper() != present and money_is_written():
        raise Conflict(
            f"Amounts are written in {present} already, so that the currency stays. "
            "Leave it as it is."
        )
    return change_organisation(facts, currency=currency)
