"""Reading customers and what is put aside for them."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db.models import OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.stock.models import Claim, FragEvent
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.holds import DIED, LONGEST
from fraginv.trade.models import Balance, Customer, Sale

DIED_SHOWN: Final = timedelta(days=30)


def customers_list(*, size: int, after: int | None = None) -> Portion[Customer]:
    """Return a page of customers by name with what each owes in minor units as ``owed``.

    Args: ``after`` the id of the last customer on the page before.
    Raises: NotFound for a customer who is not there.
    Queries: 1, and 1 more from the second page on.
    """
    is_open = Balance.objects.filter(customer=OuterRef("pk"), owed__gt=0).order_by()
    owed = Subquery(is_open.values("customer").annotate(total=Sum("owed")).values("total"))
    rows = Customer.objects.select_related("party", "kind").annotate(owed=Coalesce(owed, 0))
    return portion_of(rows, order=["party__name", "pk"], size=size, after=after)


def get_customer(customer_id: int) -> Customer:
    """Return a customer with party and kind.

    Raises: NotFound.
    Queries: 1.
    """
    found = Customer.objects.select_related("party", "kind").filter(pk=customer_id).first()
    if found is None:
        raise NotFound("There is no such customer.")
    return found


def sales_to(customer: Customer, *, size: int, after: int | None = None) -> Portion[Sale]:
    """Return a page of a customer's sales with what is owed on each, the latest first.

    Args: ``after`` the id of the last sale on the page before.
    Raises: NotFound for a sale that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    rows = customer.sales.select_related("balance", "paper_name")
    return portion_of(rows, order=["-day", "-pk"], size=size, after=after)


def holds_for(*, customer: Customer | None, name: str) -> QuerySet[Claim]:
    """Return the holds alive now of a customer, or of a name without a customer.

    Queries: none until it is read, then 1.
    """
    whose = (
        Q(party=customer.party_id)
        if customer is not None
        else Q(party__isnull=True, for_name__iexact=name.strip())
    )
    return (
        Claim.objects.select_related("frag__variety", "frag__colony", "party")
        .filter(whose, ended_at__isnull=True)
        .exclude(kind="sale")
        .filter(Q(until__isnull=True) | Q(until__gt=clock.now()))
        .order_by("frag_id", "pk")
    )


@dataclass(frozen=True)
class Died:
    """Pieces that died while a customer had them put aside."""

    code: str
    variety: str
    pieces: int
    day: date


def died_for(customer: Customer) -> list[Died]:
    """Return what died in the last month while a customer had it put aside, the latest first.

    Queries: 1.
    """
    since = clock.now() - DIED_SHOWN
    rows = FragEvent.objects.filter(
        kind=Kind.LET_GO.value,
        body__how=DIED,
        recorded_at__gte=since,
        frag__claims__party=customer.party_id,
        frag__claims__made_at__gte=since - LONGEST,
    )
    asked = ("frag__code_id", "frag__variety__name", "body", "day", "frag__claims__pk")
    return [
        Died(code, variety, body["pieces"], day)
        for code, variety, body, day, claim in rows.order_by("-pk").values_list(*asked)
        if body["claim"] == claim
    ]


def customers_to_choose() -> QuerySet[Customer]:
    """Return customers by name with party and kind, for a list to choose from.

    Queries: none until it is read, then 1.
    """
    return Customer.objects.select_related("party", "kind").order_by("party__name", "pk")


@dataclass(frozen=True)
class Waiting:
    """Somebody for whom pieces are put aside now."""

    name: str
    customer: int | None
    pieces: int


def waiting() -> list[Waiting]:
    """Return for whom pieces are put aside now, by name.

    Queries: 1.
    """
    rows = (
        Claim.objects.filter(ended_at__isnull=True)
        .exclude(kind="sale")
        .filter(Q(until__isnull=True) | Q(until__gt=clock.now()))
        .order_by()
        .values_list("for_name", "party__name", "party__customer")
        .annotate(total=Sum("pieces"))
    )
    found = [Waiting(party or name, customer, pieces) for name, party, customer, pieces in rows]
    return sorted(found, key=lambda one: one.name.casefold())
