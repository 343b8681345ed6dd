"""The types of columns: what a cell may hold and what is said when it does not."""

from datetime import date
from decimal import Decimal

import pytest

from fraginv.base.errors import InputError
from fraginv.base.rules.columns import (
    Column,
    amount_column,
    choice_column,
    column_lines,
    day_column,
    fraction_column,
    text_column,
    whole_column,
)

NAME = text_column("name", longest=10)
NOTE = text_column("note", longest=40, required=False, line_breaks=True)
DAY = day_column("day")
PRICE = amount_column("unit_price", currency="USD")
CHANGE = amount_column("change", currency="USD", least=None)
YEN = amount_column("yen", currency="JPY", least=100)
QUANTITY = whole_column("quantity", least=1, most=10_000)
MEANS = choice_column("means", ["cash", "card", "open day"], filled=False)
RATE = fraction_column("tax_rate", required=False)
SHARE = fraction_column("share", places=2)


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        (NAME, " Green  ", "Green"),
        (NAME, "cafe\u0301", "caf\u00e9"),
        (NAME, "-note", "-note"),
        (NAME, "1234567890", "1234567890"),
        (NOTE, "one\r\ntwo\nthree", "one\r\ntwo\nthree"),
        (DAY, "2026-11-25", date(2026, 11, 25)),
        (PRICE, "12.50", 1250),
        (PRICE, "0", 0),
        (CHANGE, "-12.50", -1250),
        (YEN, "100", 100),
        (QUANTITY, "12", 12),
        (QUANTITY, "0012", 12),
        (QUANTITY, "+1", 1),
        (QUANTITY, "10000", 10_000),
        (MEANS, "Cash", "cash"),
        (MEANS, "OPEN DAY", "open day"),
        (RATE, "0.0625", Decimal("0.0625")),
        (RATE, ".5", Decimal("0.5")),
        (RATE, "0", Decimal("0")),
        (RATE, "1", Decimal("1")),
        (SHARE, "0.61", Decimal("0.61")),
    ],
)
def test_a_cell_is_read(column: Column, cell: str, value: object) -> None:
    read = column.read(cell)
    assert read == value
    assert type(read) is type(value)


FORMULA = "starts like a formula; write the text without the"
FRACTION = "is not a fraction from 0 to 1; write 6.25 % as 0.0625"


@pytest.mark.parametrize(
    ("column", "cell", "message"),
    [
        (NAME, "12345678901", "The text has 11 characters; at most 10 fit here."),
        (NAME, "=1+1", f"=1+1 {FORMULA} = in front."),
        (NAME, " +SUM(A1)", f"+SUM(A1) {FORMULA} + in front."),
        (NAME, "@here", f"@here {FORMULA} @ in front."),
        (NAME, "one\ntwo", "The cell holds a line break, tab or control character"),
        (NAME, "one\ttwo", "The cell holds a line break, tab or control character"),
        (NAME, "one\x07two", "The cell holds a line break, tab or control character"),
        (NOTE, "one\rtwo", "The cell holds a line break, tab or control character"),
        (NOTE, "=" + "x" * 60, f"={'x' * 39}… {FORMULA} = in front."),
        (DAY, "25/11/2026", "25/11/2026 is not a day; write it as in 2026-11-25."),
        (DAY, "2026-11-31", "There is no day 2026-11-31 in the calendar."),
        (PRICE, "1,250.00", "1,250.00 has thousands separators"),
        (PRICE, "12.505", "12.505 has too many decimals; USD has 2."),
        (PRICE, "-0.01", "-0.01 is less than 0.00, the least that can stand here."),
        (YEN, "99", "99 is less than 100, the least that can stand here."),
        (QUANTITY, "0", "0 is not from 1 to 10000."),
        (QUANTITY, "-3", "-3 is not from 1 to 10000."),
        (QUANTITY, "10001", "10001 is not from 1 to 10000."),
        (QUANTITY, "9" * 5000, f"{'9' * 40}… is not from 1 to 10000."),
        (QUANTITY, "1,000", "1,000 has thousands separators; write the digits without them"),
        (QUANTITY, "1 000", "1 000 has thousands separators; write the digits without them"),
        (QUANTITY, "2.5", "2.5 is not a whole number; write digits only, as in 12."),
        (QUANTITY, "two", "two is not a whole number; write digits only, as in 12."),
        (QUANTITY, "\u0663", "\u0663 is not a whole number"),
        (MEANS, "shells", "shells is not one of: cash, card, open day."),
        (RATE, "6.25", f"6.25 {FRACTION}"),
        (RATE, "6.25 %", f"6.25 % {FRACTION}"),
        (RATE, "-0.01", f"-0.01 {FRACTION}"),
        (RATE, "NaN", f"NaN {FRACTION}"),
        (RATE, "1e-3", f"1e-3 {FRACTION}"),
        (RATE, "0,0625", f"0,0625 {FRACTION}"),
        (RATE, "0." + "0" * 60, f"0.{'0' * 38}… {FRACTION}"),
        (RATE, "0.0625001", "0.0625001 has too many decimals; at most 6 are kept."),
        (SHARE, "0.615", "0.615 has too many decimals; at most 2 are kept."),
    ],
)
def test_a_cell_that_does_not_fit_is_refused(column: Column, cell: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        column.read(cell)
    assert caught.value.message.startswith(message)


def test_what_may_be_left_out() -> None:
    assert (NAME.required, NAME.filled, NAME.empty) == (True, True, "")
    assert (NOTE.required, NOTE.filled, NOTE.empty) == (False, False, "")
    assert (MEANS.required, MEANS.filled, MEANS.empty) == (True, False, None)
    assert choice_column("serves", ["display"], required=False, empty="display").empty == "display"


def test_column_lines_describe_a_table() -> None:
    assert column_lines([NAME, DAY, YEN, QUANTITY, MEANS, RATE]) == [
        "name: text of at most 10 characters",
        "day: a day, as in 2026-11-25",
        "yen: an amount in JPY, as in 1250",
        "quantity: a whole number from 1 to 10000",
        "means: one of: cash, card, open day (may be empty)",
        "tax_rate: a fraction from 0 to 1, as in 0.0625 for 6.25 % (may be left out)",
    ]
