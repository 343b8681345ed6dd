"""Reading codes."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import F

from fraginv.base.errors import NotFound
from fraginv.base.models import Code
from fraginv.base.rules.codes import show_code


def get_code(code: str) -> Code:
    """Return the row of a code that ``read_code`` has accepted.

    Raises: NotFound when no such code was ever made here.
    Queries: 1.
    """
    found = Code.objects.filter(pk=code).first()
    if found is None:
        raise NotFound(
            f"{show_code(code)} is a well-formed code, but none of ours. "
            "Look at the label again, or find the piece by its place or variety.",
            code=code,
        )
    return found


@dataclass(frozen=True, slots=True)
class SymbolSize:
    """A size at which a symbol was printed: its side in mm, and its modules where known."""

    mm: float
    modules: int | None = None


def symbol_sizes(codes: Collection[str]) -> dict[str, tuple[SymbolSize, ...]]:
    """Return each size at which codes were printed, the last first; none for one never printed.

    Codes that are not there are left out.
    Queries: 1.
    """
    last = F("sizes__printed_at").desc(nulls_last=True)
    rows = Code.objects.filter(pk__in=codes).order_by(last, "-sizes__pk")
    found: dict[str, tuple[SymbolSize, ...]] = {}
    for code, side, modules in rows.values_list("pk", "sizes__symbol_mm", "sizes__modules"):
        size = () if side is None else (SymbolSize(float(side), modules or None),)
        found[code] = found.get(code, ()) + size
    return found
