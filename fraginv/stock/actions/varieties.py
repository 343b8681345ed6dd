"""Changing a variety, and the rule when its frags are ready."""

from datetime import timedelta
from typing import Any

from django.db.models import DateField, ExpressionWrapper, F

from fraginv.base.actions.words import rewrite_words
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.stock.models import Frag, Variety
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.varieties import KIND, get_variety, names_of, pace_of
from fraginv.stock.rules.ready import Least, Pace, check_pace
from fraginv.taxa.queries import genus_named
from fraginv.taxa.rules import normalise_group


@one_transaction
def edit_variety(
    variety_id: int,
    *,
    name: str,
    genus: str,
    by: Person,
    species: str = "",
    group: str = "",
    care: str = "",
    note: str = "",
) -> Variety:
    """Change what is written down of a variety; its group comes from the genus unless given.

    Raises: InputError for an empty name or unknown group; NotFound for an unknown genus;
        Conflict where another has the name, or somebody else was faster.
    Queries: 9.
    """
    before = get_variety(variety_id)
    name = " ".join(name.split())
    if not name:
        raise InputError("A variety needs a name.")
    if Variety.objects.filter(name__iexact=name).exclude(pk=variety_id).exists():
        raise Conflict(f"There is another variety {name} already.")
    found = genus_named(genus)
    news = {
        "name": name,
        "genus": found,
        "species": species.strip(),
        "group": normalise_group(group) if group.strip() else found.group,
        "care": care.strip(),
        "note": note.strip(),
    }
    after = change_variety(before, news)
    rewrite_words(names_of([after]), kind=KIND)
    return after


@one_transaction
def set_pace(
    variety_id: int,
    *,
    by: Person,
    heal_days: int | None = None,
    ready_days: int | None = None,
    see_days: int | None = None,
    ready_size: str = "",
    ready_heads: int | None = None,
    ready_mm: int | None = None,
) -> Variety:
    """Change the rule when frags of a variety are ready; what is empty is as in its group.

    The days on which its living frags have likely healed and are likely ready move along.
    Raises: InputError for what cannot be; Conflict where somebody else was faster.
    Queries: 4.
    """
    days = {"Healing": heal_days, "Ready": ready_days, "To be seen": see_days}
    check_pace(days, least=Least(ready_size, ready_heads, ready_mm))
    news = {
        "heal_days": heal_days,
        "ready_days": ready_days,
        "see_days": see_days,
        "ready_size": ready_size,
        "ready_heads": ready_heads,
        "ready_mm": ready_mm,
    }
    return change_variety(get_variety(variety_id), news)


def change_variety(before: Variety, news: dict[str, Any]) -> Variety:
    """Write a variety's new columns, unless somebody changed its pace since it was read.

    Raises: Conflict.
    """
    paced: dict[str, object] = {"group": before.group}
    for name in ("heal_days", "ready_days"):
        value = getattr(before, name)
        paced |= {f"{name}__isnull": True} if value is None else {name: value}
    if not Variety.objects.filter(pk=before.pk, **paced).update(**news):
        raise Conflict(f"Somebody else has just changed {before.name}. Look at it again.")
    after = get_variety(before.pk)
    move_days(after, was=pace_of(before), now=pace_of(after))
    return after


def move_days(variety: Variety, *, was: Pace, now: Pace) -> None:
    """Move the days of a variety's living frags as far as its pace changed.

    A frag that was cut again, or was found not to be ready, keeps its distance.
    Queries: 1, or none where the pace is the same.
    """
    moved = {"heal_by": now.heals_in - was.heals_in, "likely_on": now.ready_in - was.ready_in}
    news = {
        name: ExpressionWrapper(F(name) + timedelta(days=days), output_field=DateField())
        for name, days in moved.items()
        if days
    }
    if news:
        Frag.objects.filter(LIVES, variety=variety).update(**news)
