"""What is shown and kept of a table before it is brought in."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

from fraginv.base.rules.columns import Column
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import Problem

KEPT: Final = timedelta(hours=24)
FIRST_ROWS: Final = 20
# Past this many, nobody mends line by line; the count says how many there are.
MOST_PROBLEMS: Final = 5_000
LONGEST_FILE_NAME: Final = 120

Line = tuple[int, Mapping[str, Any]]


@dataclass(frozen=True)
class Looked:
    """What looking at a table came to: its rows or its problems.

    Attributes: ``mark`` tells its rows from those of any other table; ``head`` has its
    columns and first rows as they were understood.
    """

    result: LoadResult
    mark: str
    head: Mapping[str, Any]
    problems: Sequence[Problem] = ()


def mark_of(kind: str, lines: Iterable[Line], *, columns: Sequence[Column]) -> str:
    """Return the SHA-256 of what stands in a table, whatever file it was kept in.

    What is empty does not count, so that a column more that nobody filled in changes nothing.
    """
    digest = hashlib.sha256(kind.encode())
    for _, values in lines:
        told = {
            column.name: str(values[column.name])
            for column in columns
            if values[column.name] != column.empty
        }
        digest.update(json.dumps(told, sort_keys=True).encode())
    return digest.hexdigest()


def head_of(lines: Sequence[Line], *, columns: Sequence[Column]) -> dict[str, list[Any]]:
    """Return the columns in which something stands, and the first rows, for a screen."""
    first = lines[:FIRST_ROWS]
    used = [
        column
        for column in columns
        if any(values[column.name] not in (None, "", column.empty) for _, values in first)
    ]
    return {
        "columns": [column.name for column in used],
        "rows": [
            [line, [column.show(values[column.name]) for column in used]] for line, values in first
        ],
    }
