"""The customers that a table of sales names, made where they are unknown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fraginv.base.actions.words import write_words
from fraginv.base.models import Party
from fraginv.base.rules.loads import named_first
from fraginv.trade.models import Customer, CustomerKind, PaperName
from fraginv.trade.queries.finding import KIND, names_of
from fraginv.trade.rules.loaded import LoadedSale

BATCH = 1_000


@dataclass(frozen=True)
class Buyer:
    """A customer and the words that stand for it on papers."""

    customer: Customer
    paper_name: PaperName


def buyers_of(sales: Sequence[LoadedSale]) -> tuple[dict[str, Buyer], list[str]]:
    """Return the customers that sales name, made where they are unknown, and who was made.

    Queries: 3, and 3 for each batch of customers that are made.
    """
    wanted: dict[str, LoadedSale] = {}
    for sale in sales:
        if sale.first.customer:
            wanted.setdefault(sale.first.customer.casefold(), sale)
    known = {
        customer.party.name.casefold(): customer
        for customer in Customer.objects.select_related("party").order_by("-pk")
    }
    missing = {name: sale for name, sale in wanted.items() if name not in known}
    known |= make_customers(missing)
    customers = {name: known[name] for name in wanted}
    names = paper_names_of(list(customers.values()))
    buyers = {name: Buyer(customer, names[customer.pk]) for name, customer in customers.items()}
    return buyers, [sale.first.customer for sale in missing.values()]


def make_customers(missing: Mapping[str, LoadedSale]) -> dict[str, Customer]:
    """Make customers, each on the party of its name where there is one.

    Queries: 2, and 3 for each batch.
    """
    kinds = {kind.name: kind for kind in CustomerKind.objects.all()}
    parties = {
        party.name.casefold(): party
        for party in Party.objects.filter(customer__isnull=True).order_by("-pk")
    }
    new = [name for name in missing if name not in parties]
    made = Party.objects.bulk_create(
        [Party(name=missing[name].first.customer) for name in new], batch_size=BATCH
    )
    parties |= dict(zip(new, made, strict=True))
    customers = Customer.objects.bulk_create(
        [Customer(party=parties[name], kind=kinds[sale.kind]) for name, sale in missing.items()],
        batch_size=BATCH,
    )
    write_words(names_of(customers), kind=KIND)
    return dict(zip(missing, customers, strict=True))


def paper_names_of(customers: Sequence[Customer]) -> dict[int, PaperName]:
    """Return the words that stand for each customer on papers, by its id.

    Queries: 1, and 1 for each batch that is new.
    """
    rows = PaperName.objects.filter(customer__isnull=False).order_by("pk")
    known = {(row.customer_id, row.name, row.contact, row.address): row for row in rows}
    names: dict[int, PaperName] = {}
    for customer in customers:
        party = customer.party
        words = (customer.pk, party.name, party.contact, party.address)
        names[customer.pk] = known.get(words) or PaperName(
            customer=customer, name=party.name, contact=party.contact, address=party.address
        )
    new = [name for name in names.values() if name.pk is None]
    PaperName.objects.bulk_create(new, batch_size=BATCH)
    return names


def said_of_made(names: Sequence[str]) -> list[str]:
    """Return a sentence that names the customers that were made, the first of them."""
    if not names:
        return []
    return [f"Customers made: {len(names)}, {named_first(names)}."]
