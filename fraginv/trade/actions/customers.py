"""Writing down customers, and putting pieces aside for them."""

from datetime import datetime

from fraginv.base.actions.founding import add_party
from fraginv.base.actions.words import write_words
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.models import Claim
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.models import Customer, CustomerKind, PaperName
from fraginv.trade.queries.customers import get_customer
from fraginv.trade.queries.finding import KIND, names_of
from fraginv.trade.queries.prices import get_kind, price_of
from fraginv.trade.rules.certificates import Certificate, check_certificate

NO_CERTIFICATE = Certificate(state="", number="", valid_from=None, valid_until=None)


@one_transaction
def add_customer(
    name: str,
    *,
    kind: CustomerKind,
    by: Person,
    email: str = "",
    phone: str = "",
    address: str = "",
    certificate: Certificate = NO_CERTIFICATE,
) -> Customer:
    """Write down a customer, with a resale certificate where there is one.

    Raises: InputError for an empty name or half a certificate; Conflict for a
        name that a customer has already.
    """
    check_certificate(certificate)
    if Customer.objects.filter(party__name__iexact=name.strip()).exists():
        raise Conflict(
            f"There is a customer named {name.strip()} already. Add what tells them apart, "
            "a town say."
        )
    party = add_party(name, email=email, phone=phone, address=address)
    customer = Customer.objects.create(
        party=party,
        kind=kind,
        certificate_state=certificate.state,
        certificate_number=certificate.number,
        certificate_from=certificate.valid_from,
        certificate_until=certificate.valid_until,
    )
    write_words(names_of([customer]), kind=KIND)
    return customer


@one_transaction
def set_certificate(customer_id: int, *, certificate: Certificate, by: Person) -> Customer:
    """Write down a customer's resale certificate, or that there is none any more.

    Sales that were made keep the one that held then.
    Raises: InputError for half a certificate; NotFound.
    """
    check_certificate(certificate)
    customer = get_customer(customer_id)
    customer.certificate_state = certificate.state
    customer.certificate_number = certificate.number
    customer.certificate_from = certificate.valid_from
    customer.certificate_until = certificate.valid_until
    customer.save(
        update_fields=[
            "certificate_state",
            "certificate_number",
            "certificate_from",
            "certificate_until",
        ]
    )
    return customer


@one_transaction
def hold_for_customer(
    frag_id: int,
    *,
    pieces: int,
    by: Person,
    kind: ClaimKind = ClaimKind.NAMED,
    customer: Customer | None = None,
    for_name: str = "",
    until: datetime | None = None,
) -> Claim:
    """Put pieces aside for a customer or a name, where they have a price for them.

    Raises: PriceMissing; what ``hold_frag`` raises, with who has the pieces until when.
    """
    (frag,) = frags_with([frag_id])
    price_of(frag, kind=customer.kind if customer else get_kind(), day=today())
    return hold_frag(
        frag_id,
        pieces=pieces,
        kind=kind,
        by=by,
        until=until,
        party=customer.party if customer else None,
        for_name="" if customer else for_name,
    )


def paper_name_of(customer: Customer | None, *, name: str) -> PaperName | None:
    """Return the row with the words that stand for a customer on papers; none for a walk-in.

    Queries: 1, or 2 when the words are new.
    """
    if customer is None:
        return PaperName.objects.create(name=name.strip()) if name.strip() else None
    party = customer.party
    words = {"name": party.name, "contact": party.contact, "address": party.address}
    known = PaperName.objects.filter(customer=customer, **words).first()
    return known or PaperName.objects.create(customer=customer, **words)
