"""Reading codes."""

from collections.abc import Collection
from dataclasses import dataclass

from fraginv.base.errors import NotFound
from fraginv.base.models import Code, EarlierSize
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
    Queries: 2.
    """
    rows = Code.objects.filter(pk__in=codes).values_list("pk", "symbol_mm", "symbol_modules")
    found = {
        code: [] if side is None else [SymbolSize(float(side), modules)]
        for code, side, modules in rows
    }
    earlier = EarlierSize.objects.filter(code__in=codes).order_by("-pk")
    for code, side, modules in earlier.values_list("code_id", "symbol_mm", "modules"):
        size = SymbolSize(float(side), modules)
        if size not in found[code]:
            found[code].append(size)
    return {code: tuple(sizes) for code, sizes in found.items()}
