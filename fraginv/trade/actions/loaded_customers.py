"""Writing customers that a table brought, many at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fraginv.base.actions.words import write_words
from fraginv.base.models import Party, Person
from fraginv.base.transactions import one_transaction
from fraginv.trade.models import Customer, CustomerKind
from fraginv.trade.queries.finding import KIND, names_of
from fraginv.trade.rules.certificates import Certificate

BATCH = 1_000
DETAILS = ("contact", "email", "phone", "address", "note")


@dataclass(frozen=True)
class CustomerDraft:
    """A customer to be written; ``party`` is known already by that name, or None."""

    name: str
    kind: CustomerKind
    party: Party | None
    details: Mapping[str, str]
    certificate: Certificate


@one_transaction
def write_customers(drafts: Sequence[CustomerDraft], *, by: Person) -> list[Customer]:
    """Write down customers; the caller has checked each of them.

    A party that is known by the name, as a supplier say, becomes the customer, and what is
    empty of its details is filled in.
    Queries: 3 for each batch.
    """
    known = [filled(draft.party, draft.details) for draft in drafts if draft.party]
    Party.objects.bulk_update(known, DETAILS, batch_size=100)
    parties = [draft.party or Party(name=draft.name, **draft.details) for draft in drafts]
    Party.objects.bulk_create([party for party in parties if party.pk is None], batch_size=BATCH)
    made = Customer.objects.bulk_create(
        [customer_of(draft, party) for draft, party in zip(drafts, parties, strict=True)],
        batch_size=BATCH,
    )
    write_words(names_of(made), kind=KIND)
    return made


def filled(party: Party, details: Mapping[str, str]) -> Party:
    """Fill in what is empty of a party's details; what is written stays."""
    for name, text in details.items():
        if not getattr(party, name):
            setattr(party, name, text)
    return party


def customer_of(draft: CustomerDraft, party: Party) -> Customer:
    """Return a customer, to be saved."""
    certificate = draft.certificate
    return Customer(
        party=party,
        kind=draft.kind,
        certificate_state=certificate.state,
        certificate_number=certificate.number,
        certificate_from=certificate.valid_from,
        certificate_until=certificate.valid_until,
    )
