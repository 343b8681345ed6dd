"""What a double entry is: postings that balance, the chart of accounts, the chain of hashes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from hashlib import sha256
from itertools import pairwise
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.tallies import Tallies, tally_name

FIRST_HASH: Final = "0" * 64
LEAST_POSTINGS: Final = 2
NUMBERS: Final = "E"
ACCOUNT: Final = "account"
EARLIEST_DAY: Final = date(1990, 1, 1)
MOST_COST_ACCOUNTS: Final = 999


class AccountKind(StrEnum):
    """The five kinds of account; assets and costs grow on the debit side."""

    ASSET = "asset"
    LIABILITY = "liability"
    EQUITY = "equity"
    INCOME = "income"
    COST = "cost"


class Part(StrEnum):
    """What a cost account bears: the display, the frags alone, or what was given."""

    NONE = ""
    RUNNING = "running"
    DIRECT = "direct"
    IN_KIND = "in_kind"


@dataclass(frozen=True)
class ChartRow:
    """One account of the chart that every organisation starts with."""

    code: str
    name: str
    kind: AccountKind
    part: Part = Part.NONE


CASH: Final = "1000"
CARD_CLEARING: Final = "1010"
BANK: Final = "1020"
CHEQUES: Final = "1030"
RECEIVABLES: Final = "1100"
TRADED_CORALS: Final = "1200"
PAYABLES: Final = "2000"
SALES_TAX: Final = "2100"
CUSTOMERS_CREDIT: Final = "2200"
OWED_TO_OWNERS: Final = "2300"
OPENING: Final = "3000"
DELIVERY: Final = "4200"
OTHER_GOODS: Final = "4300"
DISCOUNTS: Final = "4800"
CREDITS: Final = "4900"
IN_KIND_DISPLAY: Final = "7000"
IN_KIND_FRAGS: Final = "7010"
GIVEN_IN_KIND: Final = "7900"

SALES_BY_GROUP: Final[Mapping[str, str]] = {
    "SPS": "4010",
    "LPS": "4020",
    "soft": "4030",
    "zoanthid": "4040",
    "mushroom": "4050",
    "gorgonian": "4060",
    "anemone": "4070",
    "clam": "4080",
    "macroalga": "4090",
    "other": "4100",
    "delivery": DELIVERY,
    "other goods": OTHER_GOODS,
}

BY_MEANS: Final[Mapping[str, str]] = {
    "cash": CASH,
    "card": CARD_CLEARING,
    "transfer": BANK,
    "cheque": CHEQUES,
    "trade": TRADED_CORALS,
}

COST_PREFIXES: Final[Mapping[Part, str]] = {Part.DIRECT: "5", Part.RUNNING: "6"}

CHART: Final[tuple[ChartRow, ...]] = (
    ChartRow(CASH, "Cash", AccountKind.ASSET),
    ChartRow(CARD_CLEARING, "Card clearing", AccountKind.ASSET),
    ChartRow(BANK, "Bank", AccountKind.ASSET),
    ChartRow(CHEQUES, "Cheques to be banked", AccountKind.ASSET),
    ChartRow(RECEIVABLES, "Receivables", AccountKind.ASSET),
    ChartRow(TRADED_CORALS, "Corals taken in trade", AccountKind.ASSET),
    ChartRow(PAYABLES, "Payables", AccountKind.LIABILITY),
    ChartRow(SALES_TAX, "Sales tax payable", AccountKind.LIABILITY),
    ChartRow(CUSTOMERS_CREDIT, "Customers' credit", AccountKind.LIABILITY),
    ChartRow(OWED_TO_OWNERS, "Owed to owners of corals", AccountKind.LIABILITY),
    ChartRow(OPENING, "Opening balances", AccountKind.EQUITY),
    *(
        ChartRow(code, f"Sales: {group}", AccountKind.INCOME)
        for group, code in SALES_BY_GROUP.items()
    ),
    ChartRow(DISCOUNTS, "Discounts", AccountKind.INCOME),
    ChartRow(CREDITS, "Credits: returns and allowances", AccountKind.INCOME),
    ChartRow(IN_KIND_DISPLAY, "In kind: display", AccountKind.COST, Part.IN_KIND),
    ChartRow(IN_KIND_FRAGS, "In kind: frags", AccountKind.COST, Part.IN_KIND),
    ChartRow(GIVEN_IN_KIND, "Given in kind", AccountKind.INCOME, Part.IN_KIND),
)


def sales_account(group: str) -> str:
    """Return the account that sales of a group go to; delivery and other goods are groups too.

    Raises: InputError for a group that the trade does not have.
    """
    try:
        return SALES_BY_GROUP[group]
    except KeyError:
        known = ", ".join(SALES_BY_GROUP)
        message = f"There is no sales account for the group {group!r}. Use one of: {known}."
        raise InputError(message) from None


def means_account(means: str) -> str:
    """Return the account that a means of payment arrives on or leaves from.

    Raises: InputError for a means that is not known.
    """
    try:
        return BY_MEANS[means]
    except KeyError:
        known = ", ".join(BY_MEANS)
        message = f"{means!r} is no means of payment. Use one of: {known}."
        raise InputError(message) from None


def next_cost_code(taken: Iterable[str], *, part: Part) -> str:
    """Return the first code after those taken among the direct or running costs.

    Raises: InputError when all codes of that part are used.
    """
    prefix = COST_PREFIXES[part]
    last = max((int(code[1:]) for code in taken if code.startswith(prefix)), default=0)
    if last >= MOST_COST_ACCOUNTS:
        message = (
            f"There are {MOST_COST_ACCOUNTS} kinds of {part.value} cost already. "
            "Use one of them; look for names that differ only in spelling."
        )
        raise InputError(message)
    return f"{prefix}{last + 1:03d}"


@dataclass(frozen=True)
class Posting:
    """An amount on an account, in minor units: debit above zero, credit below."""

    account: str
    amount: int


@dataclass(frozen=True)
class Draft:
    """An entry before it is posted: the paper it stands for and its postings."""

    day: date
    source: str
    paper: str
    memo: str
    postings: tuple[Posting, ...]


def summed(postings: Iterable[Posting]) -> tuple[Posting, ...]:
    """Add up the postings of each account and leave out what comes to nothing."""
    totals: dict[str, int] = {}
    for posting in postings:
        totals[posting.account] = totals.get(posting.account, 0) + posting.amount
    return tuple(Posting(account, total) for account, total in totals.items() if total)


def debits(postings: Iterable[Posting]) -> int:
    """Return the sum of the debit side in minor units."""
    return sum(posting.amount for posting in postings if posting.amount > 0)


def credits(postings: Iterable[Posting]) -> int:
    """Return the sum of the credit side in minor units, as a positive number."""
    return -sum(posting.amount for posting in postings if posting.amount < 0)


def imbalance_hint(postings: Sequence[Posting]) -> str:
    """Say what the difference of the two sides points to, or nothing.

    Source: the two classic tests for a trial balance that is out, OpenStax *Principles of
    Accounting* vol. 1 (2019), section 3.6: half the difference is a figure on the wrong side;
    a difference that nine divides comes from two digits changed over.
    """
    difference = abs(debits(postings) - credits(postings))
    if any(2 * abs(posting.amount) == difference for posting in postings):
        half = difference // 2
        return f"A figure of {half} may stand on the wrong side."
    if difference % 9 == 0:
        return "Nine divides the difference: two digits may have changed places."
    return ""


def check_postings(postings: Sequence[Posting]) -> None:
    """Refuse postings that are too few, hold a zero or do not balance.

    Raises: InputError with both sides in minor units and what to look for.
    """
    if len(postings) < LEAST_POSTINGS:
        raise InputError("An entry needs at least two postings: one debit and one credit.")
    for posting in postings:
        if posting.amount == 0:
            raise InputError(f"The posting on account {posting.account} is zero. Leave it out.")
    debit, credit = debits(postings), credits(postings)
    if debit != credit:
        message = (
            f"The entry does not balance: debits {debit}, credits {credit}, "
            f"difference {abs(debit - credit)}. {imbalance_hint(postings)}"
        )
        raise InputError(message.strip())


def entry_text(
    *, year: int, number: int, day: date, source: str, paper: str, postings: Iterable[Posting]
) -> str:
    """Write an entry's facts as the one line of text that its hash is taken over."""
    ordered = sorted(postings, key=lambda posting: (posting.account, posting.amount))
    lines = ";".join(f"{posting.account}:{posting.amount}" for posting in ordered)
    return f"{year}/{number}|{day.isoformat()}|{source}|{paper}|{lines}"


def chain_hash(previous: str, text: str) -> str:
    """Return the SHA-256 of an entry's text behind the hash of the entry before it."""
    return sha256(f"{previous}\n{text}".encode()).hexdigest()


def number_gaps(numbers: Iterable[int]) -> list[int]:
    """Return the numbers missing from 1 up to the highest."""
    ordered = [0, *sorted(numbers)]
    return [missing for low, high in pairwise(ordered) for missing in range(low + 1, high)]


def entry_label(year: int, number: int) -> str:
    """Show an entry's number with its year, ``2026-00042``."""
    return f"{year}-{number:05d}"


def side_tallies(account: str, *, month: int, debit: int, credit: int) -> Tallies:
    """Return what is kept of an account's two sides in a month, in minor units above zero."""
    sides = {"debit": debit, "credit": credit}
    return Tallies(
        {(month, tally_name(ACCOUNT, account, side)): sum_ for side, sum_ in sides.items()}
    )
