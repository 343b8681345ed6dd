"""Setting prices and tax rates; both from a day on, never over what was."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from fraginv.base import clock
from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.tax import check_rate
from fraginv.base.transactions import one_transaction
from fraginv.stock.models import Frag, Variety
from fraginv.stock.rules.stages import SIZES
from fraginv.trade.models import CustomerKind, Price, TaxRate
from fraginv.trade.rules.prices import Target, check_price
from fraginv.trade.rules.words import SALE_GROUPS, Basis, Unit


@one_transaction
def set_price(
    amount: int,
    *,
    kind: CustomerKind,
    by: Person,
    variety: Variety | None = None,
    group: str = "",
    frag: Frag | None = None,
    size: str = "",
    unit: Unit = Unit.PIECE,
    first_day: date | None = None,
) -> Price:
    """Set a price for a variety, a group or one frag, from a day on (today).

    Args: ``amount`` in minor units, without tax, per piece or per head.
    Raises: InputError for a negative amount, an unknown size or group, or
        anything but one target.
    """
    target = Target(
        frag=frag.pk if frag else None,
        variety=variety.pk if variety else None,
        group=group,
        size=size,
    )
    check_price(amount, target=target)
    refuse_unknown(size, group=group)
    return Price.objects.create(
        kind=kind,
        variety=variety,
        group=group,
        frag=frag,
        size=size,
        unit=unit.value,
        amount=amount,
        first_day=first_day or today(),
        by=by,
        at=clock.now(),
    )


@dataclass(frozen=True)
class PriceDraft:
    """A price to be set: ``amount`` in minor units, for a variety or a group."""

    kind: CustomerKind
    variety: Variety | None
    group: str
    size: str
    unit: str
    amount: int
    first_day: date


@one_transaction
def write_prices(drafts: Sequence[PriceDraft], *, by: Person) -> None:
    """Set many prices at once; the caller has checked each of them.

    Queries: 1 for each thousand, on SQLite more.
    """
    now = clock.now()
    Price.objects.bulk_create(
        [
            Price(
                kind=draft.kind,
                variety=draft.variety,
                group=draft.group,
                size=draft.size,
                unit=draft.unit,
                amount=draft.amount,
                first_day=draft.first_day,
                by=by,
                at=now,
            )
            for draft in drafts
        ],
        batch_size=1_000,
    )


def refuse_unknown(size: str, *, group: str) -> None:
    """Refuse a size or a group that there is not.

    Raises: InputError naming those there are.
    """
    if size and size not in SIZES:
        raise InputError(f"{size!r} is no size. Choose one of {', '.join(SIZES)}, or none.")
    if group and group not in SALE_GROUPS:
        raise InputError(f"{group!r} is no group. Choose one of {', '.join(SALE_GROUPS)}.")


@one_transaction
def set_tax_rate(
    rate: Decimal,
    *,
    basis: Basis,
    by: Person,
    first_day: date | None = None,
    name: str = "Sales tax",
) -> TaxRate:
    """Set the combined sales tax rate, a fraction such as 0.0625, from a day on (today).

    Raises: InputError for a rate that is no fraction, has more than six
        decimals, or a basis other than item or invoice.
    """
    check_rate(rate)
    if rate != round(rate, 6):
        raise InputError("A tax rate has six decimals at most, such as 0.088750 for 8.875 %.")
    if basis not in {Basis.ITEM, Basis.INVOICE}:
        raise InputError("Tax is rounded by item or by invoice. Choose one of them.")
    if not name.strip():
        raise InputError("The tax needs a name, as it stands on receipts.")
    return TaxRate.objects.create(
        name=name.strip(),
        rate=rate,
        basis=basis.value,
        first_day=first_day or today(),
        by=by,
        at=clock.now(),
    )
