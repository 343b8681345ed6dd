"""What several packages do together: the first run, the house, receiving with its bill."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from fraginv.base.actions.founding import add_person, found_organisation, party_named
from fraginv.base.actions.organisation import HouseFacts, change_organisation
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.roles import Role
from fraginv.base.transactions import one_transaction
from fraginv.costs.actions import add_bill
from fraginv.costs.rules import BillItem, Serves, Settled
from fraginv.front.queries.house import money_is_written, what_is_missing
from fraginv.people.rules.invitations import propose_username
from fraginv.stock.actions.arrivals import Incoming, Papers, receive_pieces, set_cost
from fraginv.stock.models import Arrival
from fraginv.trade.actions.pricing import set_tax_rate
from fraginv.trade.rules.words import Basis

LIVESTOCK: Final = "livestock"


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


@dataclass(frozen=True)
class Settlement:
    """What pieces cost together in minor units, and how their bill stands."""

    cost: int | None = None
    settled: str = Settled.PAID.value
    paid_by: str = "transfer"


@dataclass(frozen=True)
class Received:
    """An arrival, and what its reader should know besides."""

    arrival: Arrival
    said: list[str]


@one_transaction
def receive(
    items: Sequence[Incoming],
    *,
    by: Person,
    supplier: str = "",
    papers: Papers | None = None,
    settlement: Settlement | None = None,
    **how: Any,
) -> Received:
    """Take in pieces, and enter what they cost as a bill for the frags alone.

    Args: ``supplier`` by name, written down where there is none of that name; ``how`` as
        ``receive_pieces`` takes it.
    Raises: as ``receive_pieces`` and ``add_bill``; nothing is written then.
    Queries: those of ``receive_pieces``, and of ``add_bill`` where there is a cost.
    """
    settlement = settlement or Settlement()
    party, is_new = party_named(supplier) if supplier.strip() else (None, False)
    told = replace(papers or Papers(), supplier=party)
    arrival = receive_pieces(items, by=by, papers=told, cost=settlement.cost, **how)
    said = [f"{party} is new: look whether it was only spelt otherwise."] if is_new else []
    if settlement.cost is not None:
        said += enter_cost(arrival, settlement=settlement, by=by)
    return Received(arrival, said)


@one_transaction
def pay_for_arrival(arrival_id: int, *, settlement: Settlement, by: Person) -> list[str]:
    """Enter what pieces cost that are here already, once, as a bill for the frags alone.

    Returns: what was done, in sentences.
    Raises: InputError without a cost; Conflict where it is written down already.
    Queries: as ``add_bill``, and 2.
    """
    if settlement.cost is None:
        raise InputError("Write what the pieces cost.")
    arrival = set_cost(arrival_id, cost=settlement.cost, by=by)
    return enter_cost(arrival, settlement=settlement, by=by)


def enter_cost(arrival: Arrival, *, settlement: Settlement, by: Person) -> list[str]:
    """Enter the bill of an arrival; return what was done, in sentences."""
    invoice = f", invoice {arrival.invoice}" if arrival.invoice else ""
    entered = add_bill(
        [BillItem(LIVESTOCK, settlement.cost or 0)],
        day=arrival.day,
        by=by,
        supplier=arrival.supplier.name if arrival.supplier else "",
        serves=Serves.FRAGS.value,
        settled=settlement.settled,
        paid_by=settlement.paid_by,
        note=f"{arrival.pieces} pieces received{invoice}",
    )
    return [f"Bill {entered.bill.label} of {LIVESTOCK} is entered for them.", *entered.said]
