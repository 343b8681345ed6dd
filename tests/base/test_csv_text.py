"""CSV files in and out, by RFC 4180 (its points from memory)."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.rules.csv_text import Cell, csv_bytes, csv_cell, csv_rows
from fraginv.base.rules.problems import TableErrors


def lines_and_cells(data: bytes) -> list[tuple[int, list[str]]]:
    return [(row.line, [str(cell) for cell in row.cells]) for row in csv_rows(data)]


@pytest.mark.parametrize(
    ("data", "rows"),
    [
        # RFC 4180 section 2, rules 1, 2, 5, 6 and 7 with their examples.
        (
            b"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
            [(1, ["aaa", "bbb", "ccc"]), (2, ["zzz", "yyy", "xxx"])],
        ),
        (b"aaa,bbb\r\nzzz,yyy", [(1, ["aaa", "bbb"]), (2, ["zzz", "yyy"])]),
        (b'"aaa","bbb"\r\nzzz,yyy', [(1, ["aaa", "bbb"]), (2, ["zzz", "yyy"])]),
        (b'"aaa","b\r\nbb"\r\nzzz,yyy', [(1, ["aaa", "b\r\nbb"]), (3, ["zzz", "yyy"])]),
        (b'"aaa","b""bb","c,c"', [(1, ["aaa", 'b"bb', "c,c"])]),
        # Other line ends, and a byte order mark.
        (b"a,b\nc,d\n", [(1, ["a", "b"]), (2, ["c", "d"])]),
        (b"a,b\rc,d\r", [(1, ["a", "b"]), (2, ["c", "d"])]),
        (b"\xef\xbb\xbfa,b\r\n", [(1, ["a", "b"])]),
        ("a\r\n\r\nπolyp,é\r\n".encode(), [(1, ["a"]), (2, []), (3, ["πolyp", "é"])]),
        (b"", []),
    ],
)
def test_csv_rows(data: bytes, rows: list[tuple[int, list[str]]]) -> None:
    assert lines_and_cells(data) == rows


TEXT = "day,customer\r\n2026-11-25,Zoë\r\n"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32"])
def test_wide_text_is_refused(encoding: str) -> None:
    with pytest.raises(TableErrors, match=r"is in UTF-16\. Save it again as CSV UTF-8"):
        lines_and_cells(TEXT.encode(encoding))


@pytest.mark.parametrize("encoding", ["latin-1", "cp1252", "mac-roman"])
def test_text_of_eight_bits_is_refused_with_its_line(encoding: str) -> None:
    with pytest.raises(TableErrors, match=r"line 2: the line is not in UTF-8.*Latin-1.*CSV UTF-8"):
        lines_and_cells(TEXT.encode(encoding))
    assert len(lines_and_cells(TEXT.encode())) == 2


def test_a_nul_byte_is_refused_with_its_line() -> None:
    with pytest.raises(TableErrors, match="line 3: the line holds a NUL byte"):
        lines_and_cells(b"day,customer\n2026-11-25,Ann\n2026-11-25,B\0b\n")


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (b'a,b\n"c"d,e\n', 2),
        (b'a,b\nc,d\n"e,f\n1,2\n', 3),
        (b'a,b\n"' + b"x" * 200_000 + b'",d\n', 2),
    ],
)
def test_quotes_that_do_not_fit_are_refused_with_their_line(data: bytes, line: int) -> None:
    with pytest.raises(TableErrors, match=f"line {line}: the line cannot be read: a quote"):
        lines_and_cells(data)


def test_csv_bytes_are_as_the_standard_says() -> None:
    rows: list[list[Cell]] = [
        ["A, B", 'say "x"', "one\ntwo"],
        [date(2026, 11, 25), Decimal("12.50"), -3],
        [datetime(2026, 11, 25, 9, 30, tzinfo=UTC), Decimal("1E+2"), None],
    ]
    assert (
        csv_bytes(["name", "note", "zoë"], rows)
        == (
            "name,note,zoë\r\n"
            '"A, B","say ""x""","one\ntwo"\r\n'
            "2026-11-25,12.50,-3\r\n"
            "2026-11-25 09:30:00+00:00,100,\r\n"
        ).encode()
    )


# Guard cells that begin with = + - @ (common practice; RFC 4180 says nothing of it).
@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("=1+1", "'=1+1"),
        ("+cmd", "'+cmd"),
        ("-2+3", "'-2+3"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("-12.50", "-12.50"),
        ("+3", "+3"),
        ("-12.5.0", "'-12.5.0"),
        ("Ann", "Ann"),
        (-5, "-5"),
        (Decimal("-0.5"), "-0.5"),
    ],
)
def test_what_looks_like_a_formula_is_guarded(cell: Cell, text: str) -> None:
    assert csv_cell(cell) == text


words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12)


@given(st.lists(st.lists(words, min_size=2, max_size=2), max_size=8))
def test_what_is_written_is_read_back(rows: list[list[str]]) -> None:
    data = csv_bytes(["a", "b"], rows)
    expected = [["a", "b"], *[[csv_cell(cell) for cell in row] for row in rows]]
    assert [row.cells for row in csv_rows(data)] == expected
    # The standard library's own reader, with its defaults, agrees.
    assert list(csv.reader(io.StringIO(data.decode(), newline=""))) == expected


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        rows = lines_and_cells(data)
    except TableErrors:
        return
    assert all(line >= 1 for line, _ in rows)
