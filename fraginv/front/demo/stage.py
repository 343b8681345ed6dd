"""The demo's organisation, people, water, colonies and customers, before anything happens."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from random import Random

from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.front.demo import cast
from fraginv.stock.actions.catalogue import (
    add_rack,
    add_system,
    add_trough,
    add_variety,
)
from fraginv.stock.actions.colonies import add_colony
from fraginv.stock.models import Colony, Rack
from fraginv.stock.rules.colonies import Origin
from fraginv.trade.actions.customers import add_customer
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.models import Customer
from fraginv.trade.queries.prices import get_kind
from fraginv.trade.rules.certificates import Certificate
from fraginv.trade.rules.words import Basis

SIZE_FACTORS = {"S": Decimal("0.7"), "M": Decimal(1), "L": Decimal("1.5"), "mini": Decimal(3)}


@dataclass
class Scene:
    """Everybody and everything that the story plays with."""

    chance: Random
    crew: dict[Role, Person]
    racks: list[Rack]
    quarantine: Rack
    colonies: dict[str, Colony]
    customers: dict[str, Customer]

    @property
    def grower(self) -> Person:
        """Return who cuts and grades."""
        return self.crew[Role.GROWER]

    @property
    def seller(self) -> Person:
        """Return who sells."""
        return self.crew[Role.SELLER]

    @property
    def manager(self) -> Person:
        """Return who sets prices and enters bills."""
        return self.crew[Role.MANAGER]


def set_scene(chance: Random, *, first_day: date) -> Scene:
    """Found the organisation and write down everything it has on its first day."""
    found_organisation(
        cast.NAME,
        currency=cast.CURRENCY,
        zone=cast.ZONE,
        label_host=cast.LABEL_HOST,
        contact=cast.ADDRESS,
        is_demo=True,
    )
    crew = add_crew()
    racks, quarantine = add_water(crew[Role.MANAGER])
    colonies = {
        kind.name: add_mother(kind, racks[0], by=crew[Role.GROWER], day=first_day)
        for kind in cast.varieties()
    }
    add_prices(colonies, by=crew[Role.MANAGER], first_day=first_day)
    customers = {
        buyer.name: add_buyer(buyer, by=crew[Role.MANAGER], day=first_day) for buyer in cast.BUYERS
    }
    return Scene(chance, crew, racks, quarantine, colonies, customers)


def add_crew() -> dict[Role, Person]:
    """Let the crew sign in; the first in each role plays it in the story."""
    crew: dict[Role, Person] = {}
    for player in cast.CREW:
        person = add_person(
            player.username, name=player.name, role=player.role, password=cast.PASSWORD
        )
        crew.setdefault(player.role, person)
    return crew


def add_water(by: Person) -> tuple[list[Rack], Rack]:
    """Fill two troughs on the display's water, and one in a system of its own."""
    display = add_system("Display water", by=by)
    racks = []
    for trough_name in ("Long trough", "Short trough"):
        trough = add_trough(display, name=trough_name, by=by)
        racks += [
            add_rack(trough, name=f"rack {letter}", rows=5, columns=8, by=by) for letter in "ABC"
        ]
    apart = add_trough(add_system("Quarantine", by=by, quarantine=True), name="QT tub", by=by)
    return racks, add_rack(apart, name="rack Q", rows=4, columns=6, by=by)


def add_mother(kind: cast.Kind, rack: Rack, *, by: Person, day: date) -> Colony:
    """Write down a variety and its mother colony."""
    variety = add_variety(kind.name, genus=kind.genus, species=kind.species, care=kind.care, by=by)
    return add_colony(
        variety,
        by=by,
        origin=Origin.DONATED,
        invoice="letter of gift",
        acquired_on=day - timedelta(days=200),
        rack=rack,
        rest_days=kind.rest_days,
    )


def add_prices(colonies: dict[str, Colony], *, by: Person, first_day: date) -> None:
    """Set prices by size for visitors and for shops, and the tax."""
    set_tax_rate(
        Decimal(cast.TAX_RATE),
        basis=Basis.INVOICE,
        by=by,
        first_day=first_day,
        name=cast.TAX_NAME,
    )
    kinds = {name: get_kind(name) for name in ("retail", "shop")}
    for kind in cast.varieties():
        for size, factor in SIZE_FACTORS.items():
            for name, amount in (("retail", kind.retail), ("shop", kind.shop)):
                set_price(
                    int(amount * factor) // 50 * 50,
                    kind=kinds[name],
                    variety=colonies[kind.name].variety,
                    size=size,
                    by=by,
                    first_day=first_day,
                )


def add_buyer(buyer: cast.Buyer, *, by: Person, day: date) -> Customer:
    """Write down a customer, with a resale certificate where there is one."""
    certificate = Certificate("", "", None, None)
    if buyer.months_of_certificate:
        end = day + timedelta(days=30 * buyer.months_of_certificate)
        certificate = Certificate("HL", f"R-{len(buyer.name)}042", day, end)
    return add_customer(buyer.name, kind=get_kind(buyer.kind), by=by, certificate=certificate)
