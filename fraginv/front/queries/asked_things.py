"""The things that a narrowed list names, and how its narrowing is said."""

from collections.abc import Iterator
from dataclasses import dataclass

from fraginv.base.rules.codes import show_code
from fraginv.front.rules.frag_filters import (
    FLAGS,
    FragFilter,
    age_words,
    flag_words,
    size_words,
    trouble_words,
)
from fraginv.stock.models import Colony, Rack, System, Trough, Variety
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.places import get_system, get_trough, rack_by_code
from fraginv.stock.queries.varieties import get_variety
from fraginv.taxa.models import Genus
from fraginv.taxa.queries import get_genus
from fraginv.taxa.rules import GROUP_NAMES


@dataclass(frozen=True)
class Things:
    """The things by which a list is narrowed, None where it is not."""

    variety: Variety | None = None
    genus: Genus | None = None
    system: System | None = None
    trough: Trough | None = None
    rack: Rack | None = None
    colony: Colony | None = None


@dataclass(frozen=True)
class Said:
    """One thing by which a list is narrowed, in words, with its names in the address."""

    words: str
    names: tuple[str, ...]


def frag_things(asked: FragFilter) -> Things:
    """Return the things by which a list of frags is narrowed.

    Raises: NotFound for a thing that is not there.
    Queries: 1 for each.
    """
    return Things(
        variety=get_variety(asked.variety) if asked.variety is not None else None,
        genus=get_genus(asked.genus) if asked.genus is not None else None,
        system=get_system(asked.system) if asked.system is not None else None,
        trough=get_trough(asked.trough) if asked.trough is not None else None,
        rack=rack_by_code(asked.rack) if asked.rack else None,
        colony=colony_by_code(asked.colony) if asked.colony else None,
    )


def said_of_things(things: Things) -> Iterator[Said]:
    """Yield the things in words."""
    if things.variety:
        yield Said(things.variety.name, ("variety",))
    if things.genus:
        yield Said(things.genus.name, ("genus",))
    if things.system:
        yield Said(f"in {things.system.name}", ("system",))
    if things.trough:
        yield Said(f"in trough {things.trough.name}", ("trough",))
    if things.rack:
        yield Said(f"in {things.rack}", ("rack",))
    if things.colony:
        words = f"of colony {show_code(things.colony.code_id)}"
        yield Said(words, ("colony",))


def said_of_frags(asked: FragFilter, *, things: Things) -> Iterator[Said]:
    """Yield all by which a list of frags is narrowed beside its stage, in words."""
    if asked.text:
        yield Said(f"“{asked.text}”", ("q",))
    yield from said_of_things(things)
    if asked.group:
        yield Said(GROUP_NAMES[asked.group], ("group",))
    if asked.size:
        yield Said(size_words(asked.size), ("size",))
    for name in FLAGS:
        if value := getattr(asked, name):
            yield Said(flag_words(name, value), (name,))
    if asked.wrong:
        yield Said(trouble_words(asked.wrong), ("wrong",))
    if asked.has_age:
        yield Said(age_words(asked), ("age_from", "age_to"))
