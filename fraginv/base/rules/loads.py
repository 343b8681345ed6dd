"""What bringing in a table came to."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

NAMED_AT_MOST: Final = 10


@dataclass(frozen=True, slots=True)
class Given:
    """The code that a row's thing has from now on, and its old one where it had one."""

    line: int
    code: str
    old_code: str = ""


@dataclass(frozen=True, slots=True)
class LoadResult:
    """How many rows a table brought in, and what its reader should know besides.

    Attributes: ``said`` holds whole sentences, such as which kinds were made on the way;
    ``given`` the codes of what was made, in the order of the rows.
    """

    rows: int
    said: list[str] = field(default_factory=list)
    given: list[Given] = field(default_factory=list)


def named_first(names: Sequence[str]) -> str:
    """Name the first of many, and say how many more there are."""
    more = len(names) - NAMED_AT_MOST
    return ", ".join(names[:NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")
