"""Splits, postings and refusals of bills, by rule."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.costs.rules import (
    PAID_BY,
    Basis,
    BillDraft,
    BillItem,
    Part,
    Serves,
    Settled,
    Split,
    bill_label,
    bill_postings,
    check_payment_day,
    fold_kind,
    kinds_of,
    payment_postings,
    read_basis,
    read_kind,
    read_serves,
    share_of,
    split_amount,
)
from fraginv.ledger.rules import GIVEN_IN_KIND, PAYABLES, check_postings, debits

DAY = date(2026, 11, 20)
AMOUNTS = st.integers(1, 10**12)
SHARES = st.decimals(0, 1, places=4)


@pytest.mark.parametrize(
    ("amount", "share", "split"),
    [
        (1_000, "1", (1_000, 0)),
        (1_000, "0", (0, 1_000)),
        (1_000, "0.5", (500, 500)),
        (333, "0.5", (167, 166)),
        (1, "0.5", (1, 0)),
        (1, "0.4999", (0, 1)),
        (5_913, "0.8125", (4_804, 1_109)),
    ],
)
def test_split_rounds_once_half_up_and_leaves_the_rest(
    amount: int, share: str, split: tuple[int, int]
) -> None:
    """The last row: 59.13, a year of 45 W at 0.15 per kWh, computed; 4804.3125 rounds down."""
    assert split_amount(amount, share=Decimal(share)) == Split(*split)


@given(AMOUNTS, SHARES)
def test_parts_sum_to_the_amount(amount: int, share: Decimal) -> None:
    split = split_amount(amount, share=share)
    assert split.display + split.direct == amount
    assert split.display >= 0
    assert split.direct >= 0
    assert abs(split.display - amount * Fraction(share)) <= Fraction(1, 2)


PARTS = st.builds(
    lambda amount, share, kind: Part(
        split_amount(amount, share=share), f"6{kind:03d}", f"5{kind:03d}"
    ),
    AMOUNTS,
    SHARES,
    st.integers(1, 4),
)


@given(st.lists(PARTS, min_size=1, max_size=6), st.sampled_from(Settled), st.sampled_from(PAID_BY))
def test_any_bill_balances_and_bears_its_whole_amount(
    parts: list[Part], settled: Settled, paid_by: str
) -> None:
    postings = bill_postings(parts, settled=settled, paid_by=paid_by)
    check_postings(postings)
    amount = sum(part.split.display + part.split.direct for part in parts)
    assert debits(postings) == amount
    assert len({posting.account for posting in postings}) == len(postings)
    display = sum(row.amount for row in postings if row.account.startswith("6"))
    assert display == (
        0 if settled == Settled.IN_KIND else sum(part.split.display for part in parts)
    )


@given(AMOUNTS, st.sampled_from(PAID_BY))
def test_paying_clears_what_the_bill_owes(amount: int, paid_by: str) -> None:
    part = Part(Split(amount, 0), "6001", "")
    owed = bill_postings([part], settled=Settled.OWED, paid_by=paid_by)
    paid = payment_postings(amount, paid_by=paid_by)
    check_postings(paid)
    assert sum(row.amount for row in (*owed, *paid) if row.account == PAYABLES) == 0


def test_what_is_given_touches_no_money_account() -> None:
    part = Part(Split(60, 40), "", "")
    postings = bill_postings([part], settled=Settled.IN_KIND, paid_by="transfer")
    assert {row.account: row.amount for row in postings} == {
        "7000": 60,
        "7010": 40,
        GIVEN_IN_KIND: -100,
    }


def test_bills_are_not_paid_with_pearls() -> None:
    with pytest.raises(InputError, match="paid by transfer or cash, not by 'pearls'"):
        payment_postings(5, paid_by="pearls")


@pytest.mark.parametrize(
    ("serves", "share"),
    [(Serves.DISPLAY, "1"), (Serves.FRAGS, "0"), (Serves.SHARED, "0.3")],
)
def test_only_shared_bills_look_at_the_share(serves: Serves, share: str) -> None:
    assert share_of(serves, Decimal("0.3")) == Decimal(share)


@pytest.mark.parametrize(
    ("text", "serves"),
    [("", Serves.DISPLAY), (" Frags ", Serves.FRAGS), ("SHARED", Serves.SHARED)],
)
def test_read_serves(text: str, serves: Serves) -> None:
    assert read_serves(text) == serves


def test_read_basis() -> None:
    assert [read_basis(text) for text in ("sales", "cash")] == [Basis.SALES, Basis.CASH]
    with pytest.raises(InputError, match="'tides' is no basis of a month. Use sales or cash"):
        read_basis("tides")


@pytest.mark.parametrize(
    ("text", "name", "folded"),
    [
        ("Salt mix", "Salt mix", "salt mix"),
        ("  SALT \u00a0 mix", "SALT mix", "salt mix"),
        ("Gebühr Straße", "Gebühr Straße", "gebühr strasse"),
        ("Cafe\u0301", "Café", "café"),
    ],
)
def test_kinds_are_kept_tidy_and_compared_folded(text: str, name: str, folded: str) -> None:
    assert read_kind(text) == name
    assert fold_kind(read_kind(text)) == folded


def test_kinds_of_bills_are_named_once_as_first_written() -> None:
    drafts = [
        BillDraft((BillItem("Salt", 5), BillItem("FOOD", 5)), DAY),
        BillDraft((BillItem("salt ", 5), BillItem("Food", 5)), DAY),
    ]
    assert kinds_of(drafts) == {"salt": "Salt", "food": "FOOD"}


def test_payment_day_lies_between_the_bill_and_today() -> None:
    for day in (DAY, date(2026, 11, 25)):
        check_payment_day(day, bill_day=DAY, today=date(2026, 11, 25))


def test_label() -> None:
    assert bill_label("BI", year=2024, number=12_345) == "BI-2024-12345"
    assert bill_label("B", year=2026, number=7) == "B-2026-0007"
