"""Credits of parts, payments of parts: parts add up to the whole."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.trade.rules.certificates import Certificate, check_certificate, covers
from fraginv.trade.rules.credits import (
    Credited,
    Sold,
    credit_allowance,
    credit_pieces,
    split_refund,
)
from fraginv.trade.rules.receipts import check_payment, goods_of, spread


def add(left: Credited, right: Credited) -> Credited:
    return Credited(left.pieces + right.pieces, left.net + right.net, left.tax + right.tax)


# OpenStax, Principles of Accounting vol. 1, sections 6.1 and 6.4: amounts in cents.
CASH_SALE = Sold(pieces=250, net=3_750_000, tax=0)
ON_ACCOUNT = Sold(pieces=55, net=1_925_000, tax=0)


@pytest.mark.parametrize(
    ("sold", "pieces", "returned", "kept", "allowance"),
    [(CASH_SALE, 40, 600_000, 20, 20_000), (ON_ACCOUNT, 10, 350_000, 5, 30_000)],
    ids=["for cash", "on account"],
)
def test_returns_and_allowances_of_a_textbook(
    sold: Sold, pieces: int, returned: int, kept: int, allowance: int
) -> None:
    first = credit_pieces(sold, before=Credited(), pieces=pieces)
    assert first == Credited(pieces, returned, 0)
    then = credit_allowance(sold, before=first, net=allowance)
    assert then == Credited(0, allowance, 0)


def test_thirds_of_a_line_add_up() -> None:
    sold, before, steps = Sold(3, 1000, 63), Credited(), []
    for _ in range(3):
        step = credit_pieces(sold, before=before, pieces=1)
        steps.append((step.net, step.tax))
        before = add(before, step)
    assert steps == [(333, 21), (334, 21), (333, 21)]
    assert before == Credited(3, 1000, 63)


@given(st.integers(1, 40), st.integers(0, 100_000), st.integers(0, 10_000), st.data())
def test_all_parts_of_a_line_are_the_line(
    pieces: int, net: int, tax: int, data: st.DataObject
) -> None:
    sold, before = Sold(pieces, net, tax if net else 0), Credited()
    while before.pieces < pieces:
        if before.net < net and data.draw(st.booleans()):
            amount = data.draw(st.integers(1, net - before.net))
            step = credit_allowance(sold, before=before, net=amount)
        else:
            count = data.draw(st.integers(1, pieces - before.pieces))
            step = credit_pieces(sold, before=before, pieces=count)
        assert step.net >= 0
        assert step.tax >= 0
        before = add(before, step)
    assert before == Credited(pieces, sold.net, sold.tax)


@pytest.mark.parametrize("pieces", [0, -1], ids=["none", "negative"])
def test_no_pieces_are_no_credit(pieces: int) -> None:
    with pytest.raises(InputError, match="cannot be credited"):
        credit_pieces(Sold(2, 100, 0), before=Credited(), pieces=pieces)


def test_more_than_is_open_is_refused() -> None:
    sold, before = Sold(5, 1000, 0), Credited(3, 600, 0)
    with pytest.raises(InputError, match="3 of the 5 sold are credited already, so 2 are left"):
        credit_pieces(sold, before=before, pieces=3)
    with pytest.raises(InputError, match="more than what is left"):
        credit_allowance(sold, before=before, net=401)
    with pytest.raises(InputError, match="more than nothing"):
        credit_allowance(sold, before=before, net=0)
    assert credit_allowance(sold, before=before, net=400).net == 400


@pytest.mark.parametrize(
    ("total", "owed", "parts"), [(500, 0, (0, 500)), (500, 200, (200, 300)), (500, 900, (500, 0))]
)
def test_credit_lowers_what_is_owed_first(total: int, owed: int, parts: tuple[int, int]) -> None:
    assert split_refund(total, owed=owed) == parts


@pytest.mark.parametrize("amount", [0, -5])
def test_payment_of_nothing_is_refused(amount: int) -> None:
    with pytest.raises(InputError, match="more than nothing"):
        check_payment(amount, owed=100, currency="USD")


def test_payment_of_too_much_names_both_amounts() -> None:
    with pytest.raises(InputError, match=r"4\.26 USD is more than what is owed, 4\.25 USD"):
        check_payment(426, owed=425, currency="USD")
    check_payment(425, owed=425, currency="USD")


@given(
    st.dictionaries(st.sampled_from("abcde"), st.integers(0, 9_999), min_size=1),
    st.integers(0, 2_000),
    st.data(),
)
def test_payments_bring_each_group_its_share(
    nets: dict[str, int], tax: int, data: st.DataObject
) -> None:
    net = sum(nets.values())
    total = net + (tax if net else 0)
    received, taken, for_goods = 0, dict.fromkeys(nets, 0), 0
    while received < total:
        amount = data.draw(st.integers(1, total - received))
        received += amount
        goods = goods_of(received, net=net, total=total)
        steps = spread(goods, nets, before=taken)
        step = sum(steps.values())
        assert 0 <= step <= amount
        for group, part in steps.items():
            taken[group] += part
        for_goods += step
    assert for_goods == net
    assert taken == nets


CERTIFICATE = Certificate("Northmark", "NK-4471", date(2026, 1, 1), date(2026, 12, 31))


@pytest.mark.parametrize(
    ("day", "is_covered"),
    [
        (date(2025, 12, 31), False),
        (date(2026, 1, 1), True),
        (date(2026, 12, 31), True),
        (date(2027, 1, 1), False),
    ],
    ids=str,
)
def test_certificate_covers_its_days(day: date, is_covered: bool) -> None:
    assert covers(CERTIFICATE, day) is is_covered


@pytest.mark.parametrize(
    "certificate",
    [
        Certificate("", "NK-4471", date(2026, 1, 1), date(2026, 12, 31)),
        Certificate("Northmark", "", date(2026, 1, 1), date(2026, 12, 31)),
        Certificate("Northmark", "NK-4471", None, date(2026, 12, 31)),
        Certificate("Northmark", "NK-4471", date(2026, 1, 1), None),
    ],
    ids=["no state", "no number", "no first day", "no last day"],
)
def test_half_a_certificate_covers_nothing(certificate: Certificate) -> None:
    assert not covers(certificate, date(2026, 6, 1))
    with pytest.raises(InputError, match="Fill in all four, or none"):
        check_certificate(certificate)


def test_certificate_must_not_end_before_it_begins() -> None:
    with pytest.raises(InputError, match="ends before it begins"):
        check_certificate(Certificate("Northmark", "1", date(2026, 2, 1), date(2026, 1, 1)))
    check_certificate(CERTIFICATE)
    check_certificate(Certificate("", "", None, None))
