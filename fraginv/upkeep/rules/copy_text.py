"""Rows in a plain dump of PostgreSQL: the text format of COPY.

Source: PostgreSQL documentation, SQL command COPY, section *Text Format*.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fraginv.base.errors import InputError

NAME = r'(?:"(?:[^"]|"")+"|[A-Za-z_][A-Za-z0-9_$]*)'
HEAD = re.compile(rf"COPY (?:({NAME})\.)?({NAME}) \(({NAME}(?:, {NAME})*)\) FROM stdin;\n?")
ESCAPE = re.compile(rb"\\(x[0-9A-Fa-f]{1,2}|[0-7]{1,3}|.)", re.DOTALL)
LETTERS: Final = {b"b": b"\b", b"f": b"\f", b"n": b"\n", b"r": b"\r", b"t": b"\t", b"v": b"\v"}
END: Final = b"\\."
NULL: Final = b"\\N"
LAST_WORDS: Final = b"-- PostgreSQL database dump complete"


@dataclass(frozen=True)
class Block:
    """The head of one table's rows: the table, without its schema, and the columns."""

    table: str
    columns: Sequence[str]


def told(lines: Iterable[bytes]) -> Iterator[tuple[bytes, Block | None, bool]]:
    """Yield every line of a dump with the table that it is about, and whether it is a row.

    Lines outside the rows of tables are about none; the head of a table is no row.
    Raises: InputError for a dump that ends inside a table's rows.
    """
    block: Block | None = None
    for line in lines:
        if block is None:
            block = head_of(line)
            yield line, block, False
        elif line.rstrip(b"\r\n") == END:
            block = None
            yield line, None, False
        else:
            yield line, block, True
    if block is not None:
        raise InputError(f"The rows of {block.table} break off in the dump. Take another backup.")


def head_of(line: bytes) -> Block | None:
    """Return what a line announces, if rows of a table follow it."""
    if not line.startswith(b"COPY "):
        return None
    found = HEAD.fullmatch(line.decode("utf-8", errors="replace"))
    if found is None:
        return None
    return Block(unquoted(found[2]), [unquoted(name) for name in re.findall(NAME, found[3])])


def unquoted(name: str) -> str:
    """Return an identifier without its quotes."""
    return name[1:-1].replace('""', '"') if name.startswith('"') else name


def fields_of(line: bytes) -> list[str | None]:
    """Return the fields of one row; None where there is no value.

    Raises: InputError for what is not UTF-8.
    """
    try:
        return [text_of(part) for part in line.rstrip(b"\n").split(b"\t")]
    except UnicodeDecodeError as error:
        raise InputError("A row of the dump is not in UTF-8. Take another backup.") from error


def text_of(part: bytes) -> str | None:
    """Return one field's text with its escapes resolved, or None for no value."""
    if part == NULL:
        return None
    return ESCAPE.sub(meant, part).decode("utf-8")


def meant(escape: "re.Match[bytes]") -> bytes:
    """Return the bytes that one escape stands for."""
    word = escape[1]
    if word[:1] == b"x" and len(word) > 1:
        return bytes([int(word[1:], 16)])
    if re.fullmatch(rb"[0-7]+", word):
        return bytes([int(word, 8) & 0xFF])
    return LETTERS.get(word, word)
