"""What bringing in a table came to."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class LoadResult:
    """How many rows a table brought in, and what its reader should know besides.

    Attributes: ``said`` holds whole sentences, such as which kinds were made on the way.
    """

    rows: int
    said: list[str] = field(default_factory=list)
