"""Rows of a dump, read as PostgreSQL writes them: by its manual, and against the server itself."""

import io

import psycopg
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.upkeep.rules.copy_text import Block, fields_of, head_of, told

DUMP = rb"""--
-- PostgreSQL database dump
--
SET client_encoding = 'UTF8';
CREATE TABLE public.a (
    id integer
);
COPY public.a (id, "order", note) FROM stdin;
1	2	\N
2	\N	two\nlines
\.


COPY public.empty (id) FROM stdin;
\.

COPY not a head
SELECT pg_catalog.setval('public.a_id_seq', 2, true);
"""


def test_every_line_is_told_with_its_table() -> None:
    lines = io.BytesIO(DUMP).readlines()
    said = list(told(lines))
    assert [line for line, _, _ in said] == lines
    rows = [(block.table, fields_of(line)) for line, block, is_row in said if block and is_row]
    assert rows == [("a", ["1", "2", None]), ("a", ["2", None, "two\nlines"])]
    heads = [block for _, block, is_row in said if block and not is_row]
    assert heads == [Block("a", ["id", "order", "note"]), Block("empty", ["id"])]


def test_a_dump_that_breaks_off_is_refused() -> None:
    with pytest.raises(InputError, match="rows of a break off"):
        list(told(io.BytesIO(DUMP[: DUMP.index(b"\\.")]).readlines()))


@pytest.mark.parametrize(
    ("line", "block"),
    [
        (b"COPY public.x (a) FROM stdin;\n", Block("x", ["a"])),
        (b"COPY x (a, b_2) FROM stdin;\n", Block("x", ["a", "b_2"])),
        (b'COPY "odd ""one""" ("a b", c) FROM stdin;\n', Block('odd "one"', ["a b", "c"])),
        (b"COPY x (a) FROM PROGRAM 'rm';\n", None),
        (b"COPY x (a) FROM stdin; DROP TABLE y;\n", None),
        (b" COPY x (a) FROM stdin;\n", None),
        (b"", None),
    ],
)
def test_heads(line: bytes, block: Block | None) -> None:
    assert head_of(line) == block


# Source: PostgreSQL documentation, COPY, Text Format: the table of backslash sequences.
@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (rb"\b\f\n\r\t\v", "\b\f\n\r\t\v"),
        (rb"\101\x42", "AB"),
        (rb"\303\251", "é"),
        (rb"\\N", r"\N"),
        (rb"\N", None),
        (rb"\q\8", "q8"),
        (b"", ""),
        ("grün 🐠".encode(), "grün 🐠"),
    ],
)
def test_escapes(written: bytes, meant: str | None) -> None:
    assert fields_of(written + b"\n") == [meant]


def test_what_is_not_text_is_refused() -> None:
    with pytest.raises(InputError, match="not in UTF-8"):
        fields_of(b"\xff\n")


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)


@pytest.mark.xdist_group("other engine")
@settings(max_examples=40)
@given(rows=st.lists(st.tuples(TEXTS, st.none() | TEXTS), min_size=1, max_size=8))
def test_the_server_writes_what_is_read_here(
    any_server: str, rows: list[tuple[str, str | None]]
) -> None:
    with psycopg.connect(f"{any_server}/postgres") as session, session.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE t (number serial, a text, b text) ON COMMIT DROP")
        cursor.executemany("INSERT INTO t (a, b) VALUES (%s, %s)", rows)
        with cursor.copy("COPY (SELECT a, b FROM t ORDER BY number) TO STDOUT") as copy:
            data = b"".join(bytes(part) for part in copy)
        session.rollback()
    assert [tuple(fields_of(line)) for line in io.BytesIO(data)] == rows
