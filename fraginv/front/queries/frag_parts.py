"""What a list of frags is narrowed to, as conditions: by an index, or beside one.

Which index leads, the most telling first; its rows are looked at up to a bound:

    rack, trough, system of a few racks   frag_living_rack
    colony                                frag_living_colony
    variety                               frag_living_variety, frag_variety_stage
    group, genus, name of few varieties   the same, for each variety
    code                                  the code's own
    problem, set apart, quarantined,      frag_wrong, frag_apart, frag_quarantined,
    held, kept back                       frag_held, frag_kept_back
    size                                  frag_living_size
    stage, all that lives                 frag_stage, frag_living
    the same with an age                  frag_stage_cut, frag_living_cut
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import (
    BigIntegerField,
    BooleanField,
    Case,
    CharField,
    DateField,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.lookups import Exact, GreaterThan, GreaterThanOrEqual, In, LessThanOrEqual

from fraginv.base.models import Word
from fraginv.base.queries.looking import Beside, Part
from fraginv.base.queries.organisation import today
from fraginv.base.queries.words import begins, things_named
from fraginv.base.rules.words import words_of
from fraginv.front.queries.answers import codes_meant
from fraginv.front.rules.frag_filters import (
    ANY_TROUBLE,
    FOR_SALE,
    NO,
    YES,
    Days,
    FragFilter,
    days_of_age,
)
from fraginv.stock.models import Colony, Rack, Variety
from fraginv.stock.models.frags import HERE, LIVES
from fraginv.stock.queries.frags import for_sale
from fraginv.stock.queries.varieties import KIND
from fraginv.stock.rules.stages import Stage

FEW_RACKS: Final = 40
FEW_VARIETIES: Final = 100
# The flags: by which column a frag has them, and when an index has it.
COLUMNS: Final = {"apart": "apart", "quarantined": "quarantined", "kept": "kept_back"}
HELD: Final = Q(free_now__lt=F("pieces"))


@dataclass(frozen=True)
class Plan:
    """The parts of a narrowed list, the most telling first, and the order it is in."""

    parts: Sequence[Part]
    order: Sequence[str]


def plan_of(asked: FragFilter) -> Plan:
    """Return how the frags that are asked for are looked up.

    Queries: 1 each for a place, and for a group, genus or text; 2 to 4 more for a text
        that names no variety.
    """
    parts = [*of_place(asked), *of_kind(asked), *of_flags(asked), *of_size(asked)]
    order = ["-cut_on", "-pk"] if asked.has_age else ["-pk"]
    if asked.has_age:
        parts = [Part(part.beside, part.lead, exact=part.exact) for part in parts]
    return Plan([*parts, of_stage(asked)], order)


def beside(column: str, lookup: type[Any], value: object, *, kind: Any) -> Q:
    """Return a condition on a column by which no index is chosen."""
    return Q(lookup(Beside(F(column), output_field=kind()), value))


def at_stage(asked: FragFilter) -> Q:
    """Return the condition of the stage, as an index answers it."""
    if asked.stage == FOR_SALE:
        return Q(stage=Stage.READY.value)
    return Q(stage=asked.stage) if asked.stage else LIVES


def of_stage(asked: FragFilter) -> Part:
    """Return what is asked of stage and age; an index has it in the list's order."""
    days = days_of_age(asked, today=today())
    if asked.stage == FOR_SALE:
        # In a case of its own, so that no index is chosen by what it is made of.
        fits = Case(When(for_sale(), then=True), default=False, output_field=BooleanField())
        condition = Q(Exact(fits, Value(True))) & Q(free_now__gte=1)
    elif asked.stage:
        condition = beside("stage", Exact, asked.stage, kind=CharField)
    else:
        condition = beside("pieces", GreaterThanOrEqual, 1, kind=IntegerField)
    return Part(
        beside=condition & cut_beside(days),
        lead=at_stage(asked) & cut_between(days),
        in_order=True,
        exact=asked.stage != FOR_SALE,
    )


def cut_between(days: Days) -> Q:
    """Return the condition of the days of cutting, as an index answers it."""
    found = Q()
    if days.first is not None:
        found &= Q(cut_on__gte=days.first)
    if days.last is not None:
        found &= Q(cut_on__lte=days.last)
    return found


def cut_beside(days: Days) -> Q:
    """Return the condition of the days of cutting beside another one."""
    found = Q()
    if days.first is not None:
        found &= beside("cut_on", GreaterThanOrEqual, days.first, kind=DateField)
    if days.last is not None:
        found &= beside("cut_on", LessThanOrEqual, days.last, kind=DateField)
    return found


def of_place(asked: FragFilter) -> Iterator[Part]:
    """Yield what is asked of the place; the indexes know that of what lives.

    Queries: 1 where a place is asked for.
    """
    racks = Rack.objects.order_by()
    if asked.rack:
        racks = racks.filter(code=asked.rack)
    if asked.trough is not None:
        racks = racks.filter(trough=asked.trough)
    if asked.system is not None:
        racks = racks.filter(trough__system=asked.system)
    if not (asked.rack or asked.trough is not None or asked.system is not None):
        return
    found = list(racks.values_list("pk", flat=True)[: FEW_RACKS + 1])
    if len(found) > FEW_RACKS:
        yield Part(Q(Exists(racks.filter(pk=OuterRef("rack")))))
        return
    lead = Q(rack__in=found) & LIVES if not asked.has_ended else None
    yield Part(beside("rack_id", In, found, kind=BigIntegerField) if found else nothing(), lead)


def nothing() -> Q:
    """Return a condition that no row meets."""
    return Q(pk__in=[])


def of_kind(asked: FragFilter) -> Iterator[Part]:
    """Yield what is asked of colony, variety, genus, group and text.

    Queries: 1 for a group, a genus or a text; 2 to 4 more for a text that names no variety.
    """
    if asked.colony:
        colony = Subquery(Colony.objects.filter(code=asked.colony).values("pk")[:1])
        alike = beside("colony_id", Exact, colony, kind=BigIntegerField)
        yield Part(alike, Q(colony=colony) if asked.has_ended else Q(colony=colony) & LIVES)
    if asked.variety is not None:
        alike = beside("variety_id", Exact, asked.variety, kind=BigIntegerField)
        yield Part(alike, Q(variety=asked.variety) & at_stage(asked), in_order=True)
    if not (asked.genus is not None or asked.group or asked.text):
        return
    varieties = varieties_asked(asked)
    found = list(varieties.values_list("pk", flat=True)[: FEW_VARIETIES + 1])
    if not found and asked.text and not words_name_a_variety(asked.text):
        codes = list(codes_meant(asked.text))
        yield Part(beside("code_id", In, codes, kind=CharField), Q(code__in=codes))
        yield from of_kind_beside_a_code(asked)
    elif len(found) <= FEW_VARIETIES:
        alike = beside("variety_id", In, found, kind=BigIntegerField) if found else nothing()
        yield Part(alike, Q(variety__in=found) & at_stage(asked))
    else:
        yield Part(named_beside(asked))


def words_name_a_variety(text: str) -> bool:
    """Tell whether a text names a variety at all, be it of another group.

    Queries: 1.
    """
    return things_named(text, kind=KIND).exists()


def of_kind_beside_a_code(asked: FragFilter) -> Iterator[Part]:
    """Yield what is asked of genus and group where the text is a code."""
    kind = Q()
    if asked.genus is not None:
        kind &= Q(genus=asked.genus)
    if asked.group:
        kind &= Q(group=asked.group)
    if kind:
        yield Part(Q(Exists(Variety.objects.filter(kind, pk=OuterRef("variety")))))


def varieties_asked(asked: FragFilter) -> QuerySet[Variety]:
    """Return the varieties of a genus, a group and a name, in no order.

    Queries: none until it is read, then 1.
    """
    found = Variety.objects.order_by()
    if asked.genus is not None:
        found = found.filter(genus=asked.genus)
    if asked.group:
        found = found.filter(group=asked.group)
    if asked.text:
        found = found.filter(pk__in=things_named(asked.text, kind=KIND))
    return found


def named_beside(asked: FragFilter) -> Q:
    """Return the condition that a frag's variety is one of many that are asked for."""
    found = Q()
    for part in of_kind_beside_a_code(asked):
        found &= part.beside
    for word in words_of(asked.text):
        named = Word.objects.filter(begins(word), kind=KIND, thing=OuterRef("variety"))
        found &= Q(Exists(named))
    return found


def of_flags(asked: FragFilter) -> Iterator[Part]:
    """Yield what is asked of problems, of being set apart, quarantined, held and kept back."""
    if asked.wrong == NO:
        yield Part(beside("wrong", Exact, "", kind=CharField))
    elif asked.wrong:
        wrong = beside("wrong", GreaterThan, "", kind=CharField)
        if asked.wrong != ANY_TROUBLE:
            wrong = beside("wrong", Exact, asked.wrong, kind=CharField)
        yield Part(wrong, Q(wrong__gt="") & HERE, in_order=True, exact=False)
    for name, column in COLUMNS.items():
        value = getattr(asked, name)
        if value:
            alike = beside(column, Exact, value == YES, kind=BooleanField)
            lead = Q(**{column: True}) & HERE if value == YES else None
            yield Part(alike, lead, in_order=lead is not None)
    if asked.held == YES:
        yield Part(HELD, Q(free__lt=F("pieces")), in_order=True, exact=False)
    elif asked.held == NO:
        yield Part(~HELD)


def of_size(asked: FragFilter) -> Iterator[Part]:
    """Yield what is asked of the size; the index knows that of what lives."""
    if asked.size:
        lead = Q(size=asked.size) & LIVES if not asked.has_ended else None
        alike = beside("size", Exact, asked.size, kind=CharField)
        yield Part(alike, lead, in_order=lead is not None)
