"""What a bill is, whom it serves, and how it is posted."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.columns import read_text
from fraginv.base.rules.money import LARGEST, multiply
from fraginv.ledger.rules import (
    EARLIEST_DAY,
    GIVEN_IN_KIND,
    IN_KIND_DISPLAY,
    IN_KIND_FRAGS,
    PAYABLES,
    Posting,
    means_account,
    summed,
)

LONGEST_KIND: Final = 60
LONGEST_SUPPLIER: Final = 120
LONGEST_NOTE: Final = 200
SHARE_PLACES: Final = 4
HALF: Final = Decimal("0.5")
SERIES: Final = "B"
IMPORTED_SERIES: Final = "BI"
PAID_BY: Final = ("transfer", "cash")


class Serves(StrEnum):
    """What a bill is for."""

    DISPLAY = "display"
    FRAGS = "frags"
    SHARED = "shared"


class Settled(StrEnum):
    """How a bill stands: money left, money will leave, or somebody gave the thing itself."""

    PAID = "paid"
    OWED = "owed"
    IN_KIND = "in_kind"


class Basis(StrEnum):
    """By which day costs count: that of the bill, or that on which it was paid."""

    SALES = "sales"
    CASH = "cash"


@dataclass(frozen=True, slots=True)
class BillItem:
    """One kind of cost on a bill, and its amount in minor units."""

    kind: str
    amount: int


@dataclass(frozen=True, slots=True)
class BillDraft:
    """A bill before it is entered.

    Attributes: ``display_share`` from 0 to 1 counts for shared bills alone;
    ``paid_by`` for paid ones alone.
    """

    items: tuple[BillItem, ...]
    day: date
    supplier: str = ""
    serves: Serves = Serves.DISPLAY
    display_share: Decimal = HALF
    settled: Settled = Settled.PAID
    paid_by: str = "transfer"
    note: str = ""

    @property
    def amount(self) -> int:
        """Return the bill's total in minor units."""
        return sum(item.amount for item in self.items)

    @property
    def share(self) -> Decimal:
        """Return the share of the bill that the display bears."""
        return share_of(self.serves, self.display_share)


@dataclass(frozen=True, slots=True)
class Split:
    """An amount in its two parts: the display's running cost, and the frags' direct cost."""

    display: int
    direct: int


@dataclass(frozen=True, slots=True)
class Part:
    """One item of a bill, split, with the accounts that its two parts go to."""

    split: Split
    running_account: str
    direct_account: str


def share_of(serves: Serves, display_share: Decimal) -> Decimal:
    """Return the share that the display bears: all, none, or what was agreed for shared bills."""
    whole = {Serves.DISPLAY: Decimal(1), Serves.FRAGS: Decimal(0)}
    return whole.get(serves, display_share)


def split_amount(amount: int, *, share: Decimal) -> Split:
    """Split an amount: the display's share rounded half up once, the frags bear the rest."""
    display = multiply(amount, share)
    return Split(display=display, direct=amount - display)


def read_serves(text: str) -> Serves:
    """Read what a bill is for; nothing means the display.

    Raises: InputError naming the three words.
    """
    try:
        return Serves(text.strip().lower() or Serves.DISPLAY)
    except ValueError:
        known = ", ".join(Serves)
        raise InputError(f"{text!r} is nothing that a bill serves. Use one of: {known}.") from None


def read_settled(text: str) -> Settled:
    """Read how a bill stands.

    Raises: InputError naming the three words.
    """
    try:
        return Settled(text)
    except ValueError:
        known = ", ".join(Settled)
        raise InputError(
            f"{text!r} is no way in which a bill stands. Use one of: {known}."
        ) from None


def read_basis(text: str) -> Basis:
    """Read by which day costs count.

    Raises: InputError naming the two words.
    """
    try:
        return Basis(text)
    except ValueError:
        known = " or ".join(Basis)
        raise InputError(f"{text!r} is no basis of a month. Use {known}.") from None


def read_kind(text: str) -> str:
    """Return the name of a kind of cost as it is kept: single spaces, nothing odd.

    Raises: InputError when it is empty, too long, or looks like a formula.
    """
    name = " ".join(read_text(text, longest=LONGEST_KIND).split())
    if not name:
        raise InputError("The kind of cost is empty. Write what was paid for, such as electricity.")
    return name


def fold_kind(name: str) -> str:
    """Return a kind's name in the form in which two spellings of it are the same."""
    return " ".join(name.split()).casefold()


def check_share(share: Decimal) -> None:
    """Refuse a share that is none.

    Raises: InputError outside 0 to 1, or with more than four decimals.
    """
    if not share.is_finite() or not 0 <= share <= 1:
        raise InputError(
            f"The display's share is {share}. It must lie between 0 and 1, as 0.5 for one half."
        )
    if share != round(share, SHARE_PLACES):
        raise InputError(f"The display's share {share} has more than {SHARE_PLACES} decimals.")


def check_amount(amount: int) -> None:
    """Refuse an amount that no bill has.

    Raises: InputError at zero, below, and beyond the largest amount that is kept.
    """
    if amount <= 0:
        raise InputError("The amount of a bill must be more than zero.")
    if amount > LARGEST:
        raise InputError("The amount is too large. Look for digits too many.")


def check_day(day: date, *, today: date) -> None:
    """Refuse a day that has not come yet, or lies too far back to be meant.

    Raises: InputError.
    """
    if day > today:
        raise InputError(f"The day {day} is in the future. Enter the bill when its day has come.")
    if day < EARLIEST_DAY:
        raise InputError(f"The day {day} is before {EARLIEST_DAY}. Look at the year.")


def check_bill(draft: BillDraft, *, today: date) -> None:
    """Refuse a bill that cannot be entered.

    Raises: InputError for the first thing that is wrong.
    """
    if not draft.items:
        raise InputError("A bill needs a kind of cost and an amount.")
    for item in draft.items:
        read_kind(item.kind)
        check_amount(item.amount)
    check_amount(draft.amount)
    check_day(draft.day, today=today)
    if draft.serves == Serves.SHARED:
        check_share(draft.display_share)
    if draft.paid_by not in PAID_BY:
        raise InputError(f"A bill is paid by {' or '.join(PAID_BY)}, not by {draft.paid_by!r}.")
    read_text(draft.supplier, longest=LONGEST_SUPPLIER)
    read_text(draft.note, longest=LONGEST_NOTE)


def check_payment_day(day: date, *, bill_day: date, today: date) -> None:
    """Refuse to pay a bill before its day or in the future.

    Raises: InputError.
    """
    if day > today:
        raise InputError(f"The day {day} is in the future. Enter the payment when it was made.")
    if day < bill_day:
        raise InputError(f"The bill is of {bill_day}; it cannot have been paid on {day}.")


def bill_postings(parts: Iterable[Part], *, settled: Settled, paid_by: str) -> tuple[Posting, ...]:
    """Return a bill's postings: its costs on the debit side, where the value came from against.

    What is given in kind goes to accounts of its own, beside the costs that money pays.
    """
    rows = list(parts)
    total = sum(part.split.display + part.split.direct for part in rows)
    if settled == Settled.IN_KIND:
        return summed(
            [
                *(Posting(IN_KIND_DISPLAY, part.split.display) for part in rows),
                *(Posting(IN_KIND_FRAGS, part.split.direct) for part in rows),
                Posting(GIVEN_IN_KIND, -total),
            ]
        )
    against = PAYABLES if settled == Settled.OWED else means_account(paid_by)
    return summed(
        [
            *(Posting(part.running_account, part.split.display) for part in rows),
            *(Posting(part.direct_account, part.split.direct) for part in rows),
            Posting(against, -total),
        ]
    )


def payment_postings(amount: int, *, paid_by: str) -> tuple[Posting, ...]:
    """Return the postings of paying what a bill owes.

    Raises: InputError for a means that bills are not paid by.
    """
    if paid_by not in PAID_BY:
        raise InputError(f"A bill is paid by {' or '.join(PAID_BY)}, not by {paid_by!r}.")
    return (Posting(PAYABLES, amount), Posting(means_account(paid_by), -amount))


def why_not_owed(label: str, *, paid_on: date | None) -> str:
    """Say why a bill cannot be paid."""
    if paid_on is None:
        return f"Bill {label} was given in kind. There is nothing to pay."
    return f"Bill {label} was paid on {paid_on} already."


def bill_label(series: str, *, year: int, number: int) -> str:
    """Show a bill's number with its series and year, ``B-2026-0042``."""
    return f"{series}-{year}-{number:04d}"


def kinds_of(drafts: Iterable[BillDraft]) -> dict[str, str]:
    """Return the kinds that bills name: each once, its folded name to that first written."""
    names: dict[str, str] = {}
    for draft in drafts:
        for item in draft.items:
            name = read_kind(item.kind)
            names.setdefault(fold_kind(name), name)
    return names
