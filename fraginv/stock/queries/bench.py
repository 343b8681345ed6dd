"""What somebody did at the bench: today, and how the last time."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import F, OuterRef, Q, QuerySet, Subquery

from fraginv.base.models import Code, Person
from fraginv.stock.models import Colony, Cutting, Frag, FragEvent
from fraginv.stock.rules.colonies import State
from fraginv.stock.rules.cutting import is_resting

LATEST: Final = 40
LOOKED_AT: Final = 60
MAY_BE_CUT: Final = Q(state=State.LIVING.value, barred_because="")


@dataclass(frozen=True)
class Habit:
    """How a person cut the last time, and which label of that roll is the next."""

    medium: str = "plug"
    tool: str = ""
    dip: str = ""
    rack: int | None = None
    next_label: str = ""


def habit_of(person: Person) -> Habit:
    """Return what a person's last cutting says of the next one.

    Queries: 1.
    """
    frag = Frag.objects.filter(cutting=OuterRef("pk"), split_from__isnull=True).order_by("-pk")
    begun = FragEvent.objects.filter(frag__cutting=OuterRef("pk"), kind="cut").order_by("pk")
    following = Code.objects.filter(
        kind=Code.Kind.BLANK, run=OuterRef("run"), position__gt=OuterRef("position")
    )
    mine = Cutting.objects.filter(by=person).order_by("-day", "-pk")
    last = (
        mine.annotate(
            run=Subquery(frag.values("code__run")[:1]),
            position=Subquery(frag.values("code__position")[:1]),
            put=Subquery(begun.values("body")[:1]),
        )
        .annotate(next_label=Subquery(following.order_by("position").values("code")[:1]))
        .values("medium", "tool", "dip", "put", "next_label")
        .first()
    )
    if last is None:
        return Habit()
    return Habit(
        medium=last["medium"],
        tool=last["tool"],
        dip=last["dip"],
        rack=(last["put"] or {}).get("rack"),
        next_label=last["next_label"] or "",
    )


def cut_before(colony: Colony, *, day: date) -> list[Cutting]:
    """Return what was cut of a colony on a day already, the first first, with who did it.

    Queries: 1, or none where it was not cut since.
    """
    if colony.last_cut_on is None or colony.last_cut_on < day:
        return []
    return list(Cutting.objects.filter(colony=colony, day=day).select_related("by").order_by("pk"))


def sitting_of(person: Person, *, day: date) -> list[Cutting]:
    """Return what a person cut on a day, the latest first, each with its colony and variety.

    Queries: 1.
    """
    mine = Cutting.objects.filter(by=person, day=day).select_related("colony__variety")
    return list(mine.order_by("-day", "-pk")[:LATEST])


def labels_to_print(cuttings: list[Cutting], *, most: int) -> list[str]:
    """Return the codes of what was cut that stand on no label yet, in the order of the bench.

    Queries: 1.
    """
    frags = Frag.objects.filter(
        cutting__in=cuttings, pieces__gte=1, code__printed_at__isnull=True
    ).order_by("pk")
    return list(frags.values_list("code_id", flat=True)[:most])


def cut_lately(*, most: int) -> list[Colony]:
    """Return the colonies that were cut last and may be cut, whoever cut them.

    Queries: 1; it looks at the latest 40 cuttings.
    """
    rows = Cutting.objects.select_related("colony__variety__genus", "colony__rack__trough")
    found: dict[int, Colony] = {}
    for cutting in rows.order_by("-day", "-pk")[:LATEST]:
        found.setdefault(cutting.colony_id, cutting.colony)
    return [colony for colony in found.values() if is_cuttable(colony)][:most]


def is_cuttable(colony: Colony) -> bool:
    """Tell whether a colony lives and is not barred."""
    return colony.state == State.LIVING and not colony.barred_because


def may_be_cut(day: date, *, most: int) -> list[Colony]:
    """Return colonies that live, are not barred and rest no longer: the longest rested first.

    Queries: 1; it looks at the 60 that were cut longest ago, or never.
    """
    rested = longest_rested(LOOKED_AT)
    return [
        colony
        for colony in rested
        if not is_resting(day, last_cut=colony.last_cut_on, rest_days=colony.rest_days)
        and colony.last_cut_on != day
    ][:most]


def longest_rested(most: int) -> QuerySet[Colony]:
    """Return living colonies that are not barred, those never cut first.

    They are chosen by themselves, before what they bring along is read.
    Queries: none until it is read, then 1.
    """
    longest = (F("last_cut_on").asc(nulls_first=True), F("pk"))
    chosen = Colony.objects.filter(MAY_BE_CUT).order_by(*longest).values("pk")[:most]
    rows = Colony.objects.filter(pk__in=chosen).select_related("variety__genus", "rack__trough")
    return rows.order_by(*longest)
