"""What the house still lacks, and what it can no longer change."""

from dataclasses import dataclass

from fraginv.base.models import Organisation
from fraginv.base.queries.people import people_active
from fraginv.base.rules.roles import Role
from fraginv.costs.models import Bill
from fraginv.ledger.models import Entry
from fraginv.trade.models import Price, Sale


@dataclass(frozen=True)
class Missing:
    """What a first run asks for: the organisation, its owner, or both."""

    organisation: bool
    owner: bool

    def __bool__(self) -> bool:
        return self.organisation or self.owner


def what_is_missing() -> Missing:
    """Tell what the house lacks before it can be used.

    Queries: 2.
    """
    return Missing(
        organisation=not Organisation.objects.exists(),
        owner=not people_active().filter(role=Role.OWNER.value).exists(),
    )


def money_is_written() -> bool:
    """Tell whether an amount was written anywhere, so that the currency is settled.

    Queries: 1 to 4.
    """
    return any(model.objects.exists() for model in (Price, Sale, Bill, Entry))
