"""Frags that are likely meant: which have grown together, which are likely ready."""

from collections.abc import Iterable, Sequence
from typing import Final

from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Frag
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.varieties import least_of
from fraginv.stock.rules.stages import say_trouble

PARTNERS: Final = 12
FEW: Final = 6


def likely_partners(frag: Frag) -> list[Frag]:
    """Return the living frags of its variety in its rack, with which it may have become one.

    Queries: 1, or none for a frag without a place.
    """
    if frag.rack_id is None:
        return []
    beside = Frag.objects.filter(LIVES, rack=frag.rack_id, variety=frag.variety_id)
    lots = {"is_lot": False} if not frag.is_lot else {}
    found = beside.filter(**lots).exclude(pk=frag.pk).order_by("hole_row", "hole_column", "pk")
    return list(found[:PARTNERS])


def say_below(frags: Iterable[Frag], *, size: str, heads: int | None) -> str:
    """Say which varieties of frags read with theirs are usually not sold at such a grading."""
    below = {
        frag.variety.name: least.words
        for frag in frags
        for least in [least_of(frag.variety)]
        if least.is_below(size, heads)
    }
    if not below:
        return ""
    told = "; ".join(f"{name} from {least}" for name, least in sorted(below.items()))
    return f"Smaller than it is usually sold: {told}. It is graded all the same."


def say_unwell(frags: Iterable[Frag]) -> str:
    """Say which frags read with their varieties are noted as not well, nothing for none."""
    told = [
        f"{frag.variety.name} {show_code(frag.code_id)} ({say_trouble(frag.wrong)})"
        for frag in frags
        if frag.wrong
    ]
    if not told:
        return ""
    more = f" and {len(told) - FEW} more" if len(told) > FEW else ""
    return f"Look again before it is sold: {', '.join(told[:FEW])}{more}."


def say_doubts(frags: Sequence[Frag], *, size: str, heads: int | None) -> str:
    """Say what speaks against grading frags read with their varieties, nothing for nothing."""
    doubts = [say_unwell(frags), say_below(frags, size=size, heads=heads)]
    return " ".join(filter(None, doubts))
