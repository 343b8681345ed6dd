"""Tables read as a whole: all rows, or every problem with its place."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import Workbook

from fraginv.base import tables
from fraginv.base.errors import InputError
from fraginv.base.rules.columns import (
    amount_column,
    choice_column,
    day_column,
    fraction_column,
    text_column,
    whole_column,
)
from fraginv.base.tables import (
    Cell,
    PartlyRead,
    Problem,
    TableErrors,
    read_table,
    write_csv,
    write_xlsx,
)

COLUMNS = [
    day_column("day"),
    text_column("customer", longest=20, filled=False),
    choice_column("kind", ["retail", "shop"]),
    whole_column("quantity", least=1, most=100),
    amount_column("unit_price", currency="USD"),
    fraction_column("tax_rate", required=False),
]
NAMES = ["day", "customer", "kind", "quantity", "unit_price", "tax_rate"]
HEAD = b"day,customer,kind,quantity,unit_price\r\n"
GOOD = b"2026-11-25,Ann,retail,2,12.50\r\n"


def problems_of(data: bytes, *, limit: int = tables.MOST_ROWS) -> list[Problem]:
    with pytest.raises(TableErrors) as caught:
        read_table(data, columns=COLUMNS, limit=limit)
    return list(caught.value.problems)


def test_a_csv_table_is_read() -> None:
    [row] = read_table(HEAD + GOOD, columns=COLUMNS)
    assert row.line == 2
    assert row.values == {
        "day": date(2026, 11, 25),
        "customer": "Ann",
        "kind": "retail",
        "quantity": 2,
        "unit_price": 1250,
        "tax_rate": None,
    }
    assert row["unit_price"] == 1250


def test_columns_stand_in_any_order_and_case_and_blank_rows_are_passed_over() -> None:
    data = (
        b"\xef\xbb\xbfTax_Rate, Unit_Price ,quantity,KIND,customer,day,,\n"
        b",,,,,,,\n\n"
        b"0.0625,0,1,SHOP,,2026-11-25,,\n"
    )
    [row] = read_table(data, columns=COLUMNS)
    assert row.line == 4
    assert (row["tax_rate"], row["kind"], row["customer"]) == (Decimal("0.0625"), "shop", "")


def test_a_workbook_is_read_like_a_csv_file(tmp_path: Path) -> None:
    rows: list[list[Cell]] = [
        [date(2026, 11, 25), "Ann", "shop", 3, Decimal("12.50"), Decimal("0.0625")]
    ]
    path = tmp_path / "sales.xlsx"
    path.write_bytes(write_xlsx(NAMES, rows))
    text = tmp_path / "sales.csv"
    text.write_bytes(write_csv(NAMES, rows))
    assert read_table(path, columns=COLUMNS) == read_table(str(text), columns=COLUMNS)


def test_every_problem_of_every_row_is_named() -> None:
    data = (
        HEAD
        + GOOD
        + b'25.11.2026,=Ann,person,0,"1,250.00"\r\n'
        + b'2026-11-25,"two\r\nlines",shop,,12.505\r\n'
        + b"2026-11-25,Ann,shop,2,12.50,extra\r\n"
        + b"2026-11-25,Ann,shop\r\n"
    )
    reasons = [(p.line, p.column, p.reason.partition(";")[0]) for p in problems_of(data)]
    assert reasons == [
        (3, "day", "25.11.2026 is not a day"),
        (3, "customer", "=Ann starts like a formula"),
        (3, "kind", "person is not one of: retail, shop."),
        (3, "quantity", "0 is not from 1 to 100."),
        (3, "unit_price", "1,250.00 has thousands separators"),
        (4, "customer", "The cell holds a line break, tab or control character"),
        (4, "quantity", "the cell is empty"),
        (4, "unit_price", "12.505 has too many decimals"),
        (6, "", "the line has 6 cells, but there are 5 headings"),
        (7, "", "the line has 3 cells, but there are 5 headings"),
    ]


def test_a_formula_in_a_workbook_is_named_with_its_cell(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(NAMES)
    book.active.append(["2026-11-25", "Ann", "shop", "=1+1", 12.5, None])
    path = tmp_path / "sales.xlsx"
    book.save(path)
    with pytest.raises(TableErrors, match="line 2, quantity: cell D2 holds a formula"):
        read_table(path, columns=COLUMNS)


def test_headings_are_known_however_they_are_written() -> None:
    head = HEAD.replace(b"unit_price", b"Unit  Price").replace(b"day", b" DAY ")
    assert read_table(head + GOOD, columns=COLUMNS) == read_table(HEAD + GOOD, columns=COLUMNS)
    dashed = HEAD.replace(b"unit_price", b"unit-price")
    assert read_table(dashed + GOOD, columns=COLUMNS)[0]["unit_price"] is not None
    twice = HEAD.replace(b"customer", b"Unit price") + GOOD
    assert "unit_price: the heading is there twice." in str(problems_of(twice)[0])


def test_a_row_is_given_on_where_what_must_be_there_can_be_read() -> None:
    data = HEAD + GOOD + b"25.11.2026,Ann,shop,2,12.50\r\n" + b"2026-11-25,=Ann,shop,2,12.50\r\n"
    with pytest.raises(PartlyRead) as caught:
        read_table(data, columns=COLUMNS)
    kept, unread = caught.value.rows
    assert (kept.line, kept["customer"], unread.line, unread["customer"]) == (2, "Ann", 4, "")


def test_headings_that_are_wrong_are_all_named() -> None:
    data = b"day,day,colour,,kind,quantity\r\n" + GOOD
    listed = ", ".join(NAMES)
    assert problems_of(data) == [
        Problem(1, "day", "the heading is there twice."),
        Problem(1, "colour", f"not a column of this table; its columns are {listed}."),
        Problem(
            1,
            "the heading of column 4",
            f"not a column of this table; its columns are {listed}.",
        ),
        Problem(1, "customer", "the column is missing."),
        Problem(1, "unit_price", "the column is missing."),
    ]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "line 1: the table is empty; its first line must hold the headings day, customer,"),
        (b"\xef\xbb\xbf", "line 1: the table is empty"),
        (b"\r\n" + HEAD + GOOD, "line 1: the table is empty"),
        (HEAD, "line 1: the table has no rows under its headings."),
        (HEAD + b",,,,\r\n", "line 1: the table has no rows under its headings."),
        (HEAD.replace(b",", b";"), "line 1: the cells are separated by semicolons; save the table"),
        (HEAD.replace(b",", b"\t"), "line 1: the cells are separated by tabs; save the table"),
        ((HEAD + GOOD).decode().encode("utf-16"), "the file is in UTF-16"),
        (HEAD + GOOD.replace(b"Ann", b"Zo\xeb"), "line 2: the line is not in UTF-8"),
        (HEAD + GOOD.replace(b"Ann", b"A\0n"), "line 2: the line holds a NUL byte"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "the file is a workbook of the old kind, or"),
        (b"PK\x03\x04rest", "the file is no workbook that can be read"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "line 2: the line is not in UTF-8"),
    ],
)
def test_a_file_that_is_no_table_is_refused(data: bytes, message: str) -> None:
    [problem] = problems_of(data)
    assert str(problem).startswith(message)


def test_rows_up_to_the_limit_are_read_and_no_more() -> None:
    assert len(read_table(HEAD + GOOD * 3 + b"\r\n,,,,\r\n", columns=COLUMNS, limit=3)) == 3
    [problem] = problems_of(HEAD + GOOD * 4, limit=3)
    assert str(problem) == ("line 5: the table has more than 3 rows; split it into several files.")


def test_the_limit_is_fifty_thousand_rows() -> None:
    narrow = [text_column("name", longest=5)]
    data = b"name\n" + b"Ann\n" * 50_000
    assert len(read_table(data, columns=narrow)) == 50_000
    with pytest.raises(TableErrors, match="line 50002: the table has more than 50,000 rows"):
        read_table(data + b"Ann\n", columns=narrow)


def test_a_file_that_cannot_be_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(InputError, match=r"none\.csv cannot be read: No such file or directory"):
        read_table(tmp_path / "none.csv", columns=COLUMNS)
    with pytest.raises(InputError, match="cannot be read: Is a directory"):
        read_table(tmp_path, columns=COLUMNS)
    path = tmp_path / "large.csv"
    path.write_bytes(HEAD + GOOD)
    assert len(read_table(path, columns=COLUMNS)) == 1
    monkeypatch.setattr(tables, "MOST_BYTES", 20)
    with pytest.raises(InputError, match=r"large\.csv is larger than 64 MB; split the table"):
        read_table(path, columns=COLUMNS)
