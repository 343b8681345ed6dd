"""What stops a page although nothing in it is wrong: database away, disk full, disk read-only."""

from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True)
class Trouble:
    """What is shown: the HTTP status, a heading, and what to do about it."""

    status: int
    heading: str
    advice: str


class Troubles(Enum):
    """Each trouble with its words."""

    AWAY = Trouble(
        503,
        "The database does not answer",
        "It is usually back within a minute. If it is not, tell whoever looks after the machine.",
    )
    BUSY = Trouble(
        503,
        "The database is busy",
        "Somebody else is writing something large. Wait a moment.",
    )
    STORE = Trouble(
        503,
        "The store of pictures and files does not answer",
        "It is usually back within a minute. If it is not, tell whoever looks after the machine.",
    )
    FULL = Trouble(
        507,
        "The disk is full",
        "Nothing more can be kept until there is room. Tell whoever looks after the machine.",
    )
    READ_ONLY = Trouble(
        507,
        "The disk cannot be written to",
        "Nothing more can be kept until it can. Tell whoever looks after the machine.",
    )


# SQLite has no codes in its messages; these are its words for SQLITE_CANTOPEN, SQLITE_IOERR,
# SQLITE_FULL, SQLITE_READONLY and SQLITE_BUSY.
# Source: SQLite's documentation, "Result and Error Codes".
SAID_BY_SQLITE = (
    ("unable to open database file", Troubles.AWAY),
    ("disk i/o error", Troubles.AWAY),
    ("database or disk is full", Troubles.FULL),
    ("attempt to write a readonly database", Troubles.READ_ONLY),
    ("database is locked", Troubles.BUSY),
    ("database table is locked", Troubles.BUSY),
)

# Source: PostgreSQL documentation, appendix A: disk full, read-only transaction, then the classes
# connection exception, insufficient resources, operator intervention, transaction rollback.
CODES_OF_POSTGRESQL = (
    ("53100", Troubles.FULL),
    ("25006", Troubles.READ_ONLY),
    ("08", Troubles.AWAY),
    ("53", Troubles.BUSY),
    ("57", Troubles.AWAY),
    ("40", Troubles.BUSY),
    ("55P03", Troubles.BUSY),
)


def database_trouble(message: str, *, sqlstate: str | None, is_sqlite: bool) -> Trouble | None:
    """Return what stopped the database, or None where the fault is another one.

    Args: ``message`` is the error's text, ``sqlstate`` PostgreSQL's code if it gave one.
        Without a code, PostgreSQL was not reached or went away in the middle.
    """
    if is_sqlite:
        text = message.lower()
        return next((known.value for words, known in SAID_BY_SQLITE if words in text), None)
    if sqlstate is None:
        return Troubles.AWAY.value
    return next(
        (known.value for start, known in CODES_OF_POSTGRESQL if sqlstate.startswith(start)), None
    )
