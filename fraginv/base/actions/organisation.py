"""Changing what is written down of the organisation."""

from dataclasses import asdict, dataclass

from fraginv.base.actions.founding import refuse_unfit, refuse_unknown
from fraginv.base.models import Organisation
from fraginv.base.rules.codes import read_host
from fraginv.base.transactions import one_transaction


@dataclass(frozen=True)
class HouseFacts:
    """What may be changed of the organisation at any time; a new zone acts forward only."""

    name: str
    zone: str
    label_host: str
    locale: str
    paper: str
    address: str = ""
    email: str = ""
    phone: str = ""


@one_transaction
def change_organisation(facts: HouseFacts, *, currency: str) -> Organisation:
    """Write down what the organisation is called, where it is and how its papers look.

    Raises: InputError for what cannot be used or does not fit.
    """
    row = Organisation.objects.select_for_update().get(pk=1)
    refuse_unknown(facts.name, currency=currency, zone=facts.zone, locale=facts.locale)
    told = asdict(facts) | {
        "name": facts.name.strip(),
        "label_host": read_host(facts.label_host),
        "currency": currency.upper(),
    }
    for field, value in told.items():
        setattr(row, field, value)
    refuse_unfit(row)
    row.save(update_fields=list(told))
    return row
