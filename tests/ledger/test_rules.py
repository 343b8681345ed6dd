"""Postings, the chart and the chain, by rule."""

from datetime import date
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.ledger.rules import (
    BY_MEANS,
    CHART,
    FIRST_HASH,
    SALES_BY_GROUP,
    Part,
    Posting,
    chain_hash,
    check_postings,
    credits,
    debits,
    entry_label,
    entry_text,
    means_account,
    next_cost_code,
    number_gaps,
    sales_account,
    summed,
)
from fraginv.taxa.rules import GROUPS

# OpenStax, Principles of Accounting vol. 1 (Franklin, Graybeal, Cooper, 2019), section 3.6:
# a trial balance of 34,000 on each side; figures only. Account names stand for codes here.
TRIAL_BALANCE = (
    Posting("cash", 24_800),
    Posting("receivable", 1_200),
    Posting("supplies", 500),
    Posting("equipment", 3_500),
    Posting("payable", -500),
    Posting("unearned", -4_000),
    Posting("stock", -20_000),
    Posting("dividends", 100),
    Posting("revenue", -9_500),
    Posting("salaries", 3_600),
    Posting("utilities", 300),
)
# The small one of the same section: 4,500 on each side.
SMALL_BALANCE = (
    Posting("cash", 4_000),
    Posting("receivable", 400),
    Posting("advertising", 100),
    Posting("payable", -50),
    Posting("stock", -2_050),
    Posting("revenue", -2_400),
)


def with_posting(account: str, amount: int) -> tuple[Posting, ...]:
    """Return the published trial balance with one figure changed."""
    return tuple(
        Posting(account, amount) if posting.account == account else posting
        for posting in TRIAL_BALANCE
    )


@pytest.mark.parametrize(
    ("postings", "side"),
    [(TRIAL_BALANCE, 34_000), (SMALL_BALANCE, 4_500)],
    ids=["whole", "small"],
)
def test_published_trial_balances_balance(postings: tuple[Posting, ...], side: int) -> None:
    check_postings(postings)
    assert (debits(postings), credits(postings)) == (side, side)


def test_dividends_on_the_wrong_side_are_found() -> None:
    """The same section: 33,900 against 34,100; half of the 200 is the misplaced figure."""
    wrong = with_posting("dividends", -100)
    assert (debits(wrong), credits(wrong)) == (33_900, 34_100)
    with pytest.raises(InputError, match=r"difference 200\. A figure of 100 may stand on the"):
        check_postings(wrong)


def test_changed_digits_are_found() -> None:
    """The same section: equipment keyed 5,300; nine divides the difference of 1,800."""
    wrong = with_posting("equipment", 5_300)
    assert (debits(wrong), credits(wrong)) == (35_800, 34_000)
    with pytest.raises(InputError, match=r"difference 1800\. Nine divides the difference"):
        check_postings(wrong)


def test_cash_account_behind_the_trial_balance() -> None:
    """The same section: the cash account's own debits and credits leave 24,800."""
    cash = [20_000, 4_000, 2_800, 5_500, -300, -100, -3_500, -3_600]
    assert summed(Posting("cash", amount) for amount in cash) == (Posting("cash", 24_800),)


@pytest.mark.parametrize(
    ("postings", "message"),
    [
        ((), "at least two postings"),
        ((Posting("1000", 5),), "at least two postings"),
        ((Posting("1000", 5), Posting("4010", 0)), "posting on account 4010 is zero"),
        ((Posting("1000", 5), Posting("4010", -4)), "debits 5, credits 4, difference 1"),
        ((Posting("1000", 5), Posting("4010", 5)), "debits 10, credits 0, difference 10"),
    ],
    ids=["none", "one", "zero", "off by one", "both debit"],
)
def test_bad_postings_are_refused(postings: tuple[Posting, ...], message: str) -> None:
    with pytest.raises(InputError, match=message):
        check_postings(postings)


@given(st.lists(st.tuples(st.sampled_from("abcd"), st.integers(-(10**12), 10**12))))
def test_summing_keeps_the_total(rows: list[tuple[str, int]]) -> None:
    postings = [Posting(account, amount) for account, amount in rows]
    after = summed(postings)
    assert sum(posting.amount for posting in after) == sum(amount for _, amount in rows)
    assert len({posting.account for posting in after}) == len(after)
    assert all(posting.amount for posting in after)


def test_every_group_of_the_trade_has_its_sales_account() -> None:
    accounts = [sales_account(group) for group in (*GROUPS, "delivery", "other goods")]
    assert len(set(accounts)) == len(SALES_BY_GROUP)
    assert all(account.startswith("4") for account in accounts)


def test_every_means_has_its_account() -> None:
    means = ["cash", "card", "transfer", "cheque", "trade"]
    assert list(BY_MEANS) == means
    assert [means_account(name) for name in means] == [
        "1000",
        "1010",
        "1020",
        "1030",
        "1200",
    ]


def test_unknown_group_and_means_are_refused() -> None:
    with pytest.raises(InputError, match="no sales account for the group 'shark'"):
        sales_account("shark")
    with pytest.raises(InputError, match="'pearls' is no means of payment"):
        means_account("pearls")


def test_chart_holds_each_account_once_and_all_that_rules_name() -> None:
    codes = [row.code for row in CHART]
    assert len(set(codes)) == len(codes)
    assert set(SALES_BY_GROUP.values()) | set(BY_MEANS.values()) <= set(codes)
    assert not [code for code in codes if code[0] in "56"], "cost accounts open on demand"


@pytest.mark.parametrize(
    ("taken", "part", "code"),
    [
        ([], Part.RUNNING, "6001"),
        ([], Part.DIRECT, "5001"),
        (["6001", "6007", "5003"], Part.RUNNING, "6008"),
        (["6001", "6007", "5003"], Part.DIRECT, "5004"),
        (["6998"], Part.RUNNING, "6999"),
    ],
)
def test_next_cost_code(taken: list[str], part: Part, code: str) -> None:
    assert next_cost_code(taken, part=part) == code


def test_cost_codes_run_out_with_a_message() -> None:
    with pytest.raises(InputError, match="999 kinds of running cost already"):
        next_cost_code(["6999"], part=Part.RUNNING)


@pytest.mark.parametrize(
    ("numbers", "gaps"),
    [([], []), ([1], []), ([2], [1]), ([5, 1, 3], [2, 4]), ([1, 2, 3], [])],
)
def test_number_gaps(numbers: list[int], gaps: list[int]) -> None:
    assert number_gaps(numbers) == gaps


def text_of(*postings: Posting, number: int = 7, day: date = date(2026, 11, 25)) -> str:
    """Write the text of a small entry."""
    return entry_text(
        year=2026, number=number, day=day, source="bill", paper="B-1", postings=postings
    )


def test_hash_is_sha_256_of_the_written_text() -> None:
    text = text_of(Posting("6001", 500), Posting("1020", -500))
    assert text == "2026/7|2026-11-25|bill|B-1|1020:-500;6001:500"
    written = f"{FIRST_HASH}\n{text}".encode()
    assert chain_hash(FIRST_HASH, text) == sha256(written).hexdigest()


def test_text_depends_on_each_fact_but_not_on_the_order_of_lines() -> None:
    debit, credit = Posting("6001", 500), Posting("1020", -500)
    text = text_of(debit, credit)
    assert text_of(credit, debit) == text
    others = [
        text_of(debit, credit, number=8),
        text_of(debit, credit, day=date(2026, 11, 24)),
        text_of(Posting("6002", 500), credit),
        text_of(Posting("6001", 501), Posting("1020", -501)),
    ]
    assert len({text, *others}) == len(others) + 1
    assert chain_hash("1" * 64, text) != chain_hash(FIRST_HASH, text)


def test_label() -> None:
    assert entry_label(2026, 42) == "2026-00042"
