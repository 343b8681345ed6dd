"""Lists of cuttings, the latest first, narrowed by anything at once, and as a table.

Which index leads: cutting_of_colony for a colony or the few colonies of a kind,
cutting_of_person for a person, cutting_day for all others.
"""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from django.db.models import BigIntegerField, Exists, F, OuterRef, Q, QuerySet
from django.db.models.lookups import Exact, In

from fraginv.base.queries.looking import Beside, Looked, Part, look
from fraginv.base.queries.people import get_person
from fraginv.base.queries.words import things_named
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.csv_text import Cell
from fraginv.front.queries.asked_things import Said, Things, said_of_things
from fraginv.front.queries.frag_parts import Plan
from fraginv.front.queries.frag_table import all_of, refuse_too_many
from fraginv.front.rules.cutting_filters import (
    WORDS,
    CuttingFilter,
    days_words,
    filter_words,
)
from fraginv.stock.models import Colony, Cutting
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.frags import living_of
from fraginv.stock.queries.varieties import KIND, get_variety
from fraginv.taxa.queries import get_genus
from fraginv.taxa.rules import GROUP_NAMES

PAGE: Final = 40
FEW_COLONIES: Final = 100
ORDER: Final = ("-day", "-pk")
CUTTING_HEADINGS: Final = [
    *("day", "colony", "variety", "genus", "group", "pieces", "lost", "on", "lot", "tool", "dip"),
    *("despite_rest", "by", "living_frags"),
]
ALONG: Final = ("colony__variety__genus", "by")


def cutting_list(asked: CuttingFilter, *, after: int | None = None) -> Looked[Cutting]:
    """Return a page of the cuttings that are asked for, each with ``living``.

    Args: ``after`` the id of the last cutting on the page before.
    Raises: NotFound for a cutting that is not there.
    Queries: 2, 1 where nothing is narrowed; 1 more for a kind of coral, 1 from the second
        page on.
    """
    parts = parts_of(asked)
    return look(read_whole(), parts=parts, order=ORDER, size=PAGE, after=after)


def read_whole() -> QuerySet[Cutting]:
    """Return cuttings with all that a row or a table says."""
    return Cutting.objects.select_related(*ALONG).annotate(living=living_of("cutting"))


def parts_of(asked: CuttingFilter) -> list[Part]:
    """Return what is asked for as conditions, the most telling first.

    Queries: 1 where a kind of coral is asked for.
    """
    parts = [*of_colony(asked), *of_words(asked)]
    if asked.by is not None:
        alike = Q(Exact(Beside(F("by_id"), output_field=BigIntegerField()), asked.by))
        parts.append(Part(alike, Q(by=asked.by), in_order=True))
    days = Q()
    if asked.first is not None:
        days &= Q(day__gte=asked.first)
    if asked.last is not None:
        days &= Q(day__lte=asked.last)
    return [*parts, Part(days, days, in_order=True)]


def of_colony(asked: CuttingFilter) -> Iterator[Part]:
    """Yield what is asked of the colony or its variety.

    Queries: 1 where one is asked for.
    """
    wanted = Q()
    if asked.colony:
        wanted &= Q(code=asked.colony)
    if asked.variety is not None:
        wanted &= Q(variety=asked.variety)
    if asked.genus is not None:
        wanted &= Q(variety__genus=asked.genus)
    if asked.group:
        wanted &= Q(variety__group=asked.group)
    if asked.text:
        wanted &= Q(variety__in=things_named(asked.text, kind=KIND))
    if not wanted:
        return
    colonies = Colony.objects.filter(wanted).order_by()
    found = list(colonies.values_list("pk", flat=True)[: FEW_COLONIES + 1])
    if len(found) > FEW_COLONIES:
        yield Part(Q(Exists(colonies.filter(pk=OuterRef("colony")))))
        return
    column: Any = Beside(F("colony_id"), output_field=BigIntegerField())
    alone = len(found) == 1
    lead = Q(colony=found[0]) if alone else Q(colony__in=found)
    yield Part(Q(In(column, found)) if found else Q(pk__in=[]), lead, in_order=alone)


def of_words(asked: CuttingFilter) -> Iterator[Part]:
    """Yield what is asked of the cutting itself."""
    if asked.medium:
        yield Part(Q(medium=asked.medium))
    if asked.tool:
        yield Part(Q(tool=asked.tool))
    if asked.lot:
        yield Part(Q(as_lot=asked.lot == "yes"))
    if asked.lost:
        yield Part(Q(lost__gte=1) if asked.lost == "yes" else Q(lost=0))
    if asked.rest:
        yield Part(~Q(despite_rest="") if asked.rest == "yes" else Q(despite_rest=""))


def cutting_things(asked: CuttingFilter) -> Things:
    """Return the things by which a list of cuttings is narrowed.

    Raises: NotFound for a thing that is not there.
    Queries: 1 for each.
    """
    return Things(
        variety=get_variety(asked.variety) if asked.variety is not None else None,
        genus=get_genus(asked.genus) if asked.genus is not None else None,
        colony=colony_by_code(asked.colony) if asked.colony else None,
    )


def said_of_cuttings(asked: CuttingFilter, *, things: Things) -> Iterator[Said]:
    """Yield all by which a list of cuttings is narrowed, in words.

    Raises: NotFound for a person who is not there.
    Queries: 1 where a person is asked for.
    """
    if asked.text:
        yield Said(f"“{asked.text}”", ("q",))
    yield from said_of_things(things)
    if asked.group:
        yield Said(GROUP_NAMES[asked.group], ("group",))
    if asked.by is not None:
        yield Said(f"by {get_person(asked.by).name}", ("by",))
    if words := days_words(asked.first, asked.last):
        yield Said(words, ("first", "last"))
    for name in WORDS:
        if value := getattr(asked, name):
            yield Said(filter_words(name, value), (name,))


def cutting_table(asked: CuttingFilter) -> Iterator[Sequence[Cell]]:
    """Return the rows of a table of the cuttings that are asked for, read while it is gone through.

    Raises: InputError where there are more than a table can have.
    Queries: 1 and those of ``parts_of``; then 2 for each thousand rows.
    """
    plan = Plan(parts_of(asked), ORDER)
    refuse_too_many(read_whole(), plan=plan)
    return (cutting_cells(cutting) for cutting in all_of(read_whole(), plan=plan))


def cutting_cells(cutting: Cutting) -> list[Cell]:
    """Return what a table says of a cutting that was read with all that this names."""
    variety = cutting.colony.variety
    return [
        *(cutting.day, show_code(cutting.colony.code_id), variety.name, variety.genus.name),
        *(variety.group, cutting.pieces, cutting.lost, cutting.medium),
        *("yes" if cutting.as_lot else "", cutting.tool, cutting.dip, cutting.despite_rest),
        *(cutting.by.name, vars(cutting)["living"]),
    ]
