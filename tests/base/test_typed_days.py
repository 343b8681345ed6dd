"""Days as tables write them: read where they are plain, and else said what to write."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import to_excel

from fraginv.base.errors import InputError
from fraginv.base.rules.columns import day_column, text_column
from fraginv.base.rules.typed_days import DayOrder, read_day
from fraginv.base.tables import TableErrors, read_table

DAY_FIRST, MONTH_FIRST = DayOrder.DAY_FIRST, DayOrder.MONTH_FIRST


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("3/4/2026", " It may be 2026-03-04 or 2026-04-03: write the one that is meant."),
        ("04.03.2026", " It may be 2026-03-04 or 2026-04-03: write the one that is meant."),
        ("25.12.2026", " Most likely it is 2026-12-25."),
        ("12/25/2026", " Most likely it is 2026-12-25."),
        ("4-4-2026", " Most likely it is 2026-04-04."),
        ("2026/3/4", " Most likely it is 2026-03-04."),
        ("3/4/26", " Write the year with four digits."),
        ("31.31.2026", ""),
        ("3/4.2026", ""),
        ("March 4", ""),
        ("2026-02-30", ""),
    ],
)
def test_another_writing_is_refused_with_what_it_may_be(cell: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_day(cell)
    assert caught.value.message.partition(".")[2] or not said
    assert caught.value.message.endswith(said or ".")
    assert ("It may be" in caught.value.message) == ("It may be" in said)


@pytest.mark.parametrize(
    ("cell", "order", "day"),
    [
        ("04.03.2026", DAY_FIRST, date(2026, 3, 4)),
        ("3/4/2026", DAY_FIRST, date(2026, 4, 3)),
        ("3/4/2026", MONTH_FIRST, date(2026, 3, 4)),
        ("2026-03-04", DAY_FIRST, date(2026, 3, 4)),
        ("2026-03-04", MONTH_FIRST, date(2026, 3, 4)),
    ],
)
def test_a_table_that_says_its_order_is_read(cell: str, order: DayOrder, day: date) -> None:
    assert read_day(cell, order=order) == day


def test_what_does_not_fit_the_order_is_refused() -> None:
    with pytest.raises(InputError, match="no day 12/25/2026 in the calendar, read with the day f"):
        read_day("12/25/2026", order=DAY_FIRST)
    with pytest.raises(InputError, match="Most likely it is 2026-12-25"):
        read_day("25.12.2026", order=MONTH_FIRST)


@given(st.dates(min_value=date(1950, 1, 1), max_value=date(2099, 12, 31)))
def test_the_number_that_a_spreadsheet_keeps_is_named_as_its_day(day: date) -> None:
    # Held against openpyxl, which counts by ECMA-376 part 1, 18.17.4.1.
    with pytest.raises(InputError, match=f"most likely {day.isoformat()}: give the column"):
        read_day(str(int(to_excel(day))))


@given(st.dates(min_value=date(1990, 1, 1), max_value=date(2099, 12, 31)), st.sampled_from("./-"))
def test_days_are_read_as_they_were_written(day: date, mark: str) -> None:
    assert read_day(day.strftime(f"%d{mark}%m{mark}%Y"), order=DAY_FIRST) == day
    assert read_day(day.strftime(f"%m{mark}%d{mark}%Y"), order=MONTH_FIRST) == day
    assert read_day(day.isoformat()) == day


def test_a_whole_table_is_read_in_its_order_and_other_columns_stay() -> None:
    columns = [day_column("day"), text_column("name", longest=20), day_column("seen", filled=False)]
    data = b"day,name,seen\n3/4/2026,1/2/2026,\n4/4/2026,b,13/4/2026\n"
    rows = read_table(data, columns=columns, days=DAY_FIRST)
    assert [row["day"] for row in rows] == [date(2026, 4, 3), date(2026, 4, 4)]
    assert [row["seen"] for row in rows] == [None, date(2026, 4, 13)]
    assert rows[0]["name"] == "1/2/2026"
    with pytest.raises(TableErrors, match="line 2, day: 3/4/2026 is not a day") as caught:
        read_table(data, columns=columns)
    assert caught.value.count == 3
