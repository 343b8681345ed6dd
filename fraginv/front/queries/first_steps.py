"""What is left to do before the first frag can be cut and sold."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right
from fraginv.stock.models import Colony, Rack, Variety
from fraginv.trade.models import Price, TaxRate


@dataclass(frozen=True)
class Step:
    """One thing to do first, and the address of the page where it is done."""

    label: str
    address: str
    is_done: bool


def first_steps(reader: Person) -> Sequence[Step]:
    """Return what a new house is made ready by, as far as somebody may do it.

    Queries: 1 for each that is returned.
    """
    others = Person.objects.all()[1:2]
    places, varieties = Rack.objects.all(), Variety.objects.all()
    colonies, taxes, prices = Colony.objects.all(), TaxRate.objects.all(), Price.objects.all()
    steps = (
        ("Write down water, troughs and racks", reverse("stock:places"), Right.ADD_STOCK, places),
        ("Add a variety", reverse("stock:variety_add"), Right.ADD_STOCK, varieties),
        ("Add the first colony", reverse("stock:colony_add"), Right.ADD_STOCK, colonies),
        ("Set the sales tax, 0 if none is due", reverse("trade:tax_set"), Right.SET_TAX, taxes),
        ("Set a price", reverse("trade:prices"), Right.SET_PRICES, prices),
        ("Invite the crew", reverse("people:list"), Right.MANAGE_PEOPLE, others),
    )
    return [
        Step(label, address, rows.exists())
        for label, address, right, rows in steps
        if reader.can(right)
    ]
