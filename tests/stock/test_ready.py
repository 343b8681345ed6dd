"""When frags are ready: the rule of a variety, grading, and fresh cuts."""

from datetime import timedelta
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.queries.words import things_named
from fraginv.stock.actions import aside, grading
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.parts import recut_frag
from fraginv.stock.actions.varieties import edit_variety, set_pace
from fraginv.stock.models import Frag, FragEvent, Variety
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import saleable_frags
from fraginv.stock.queries.likely import say_below
from fraginv.stock.queries.varieties import KIND
from fraginv.stock.rules.ready import Least
from tests.factories import make_colony, make_frag, make_frags, make_rack, make_variety
from tests.refusing import refused


def fresh(frag: Frag) -> Frag:
    return Frag.objects.select_related("variety").get(pk=frag.pk)


@pytest.mark.parametrize("stage", ["healing", "growing"])
def test_a_fresh_cut_is_sold_knowingly(grower: Person, stage: str) -> None:
    frag = make_frag(grower)
    if stage == "growing":
        grading.mark_healed([frag.pk], by=grower)
    grading.grade_frags([frag.pk], size="S", fresh=True, by=grower)
    assert (fresh(frag).stage, fresh(frag).fresh, fresh(frag).size) == ("ready", True, "S")
    assert list(saleable_frags()) == [frag]
    assert FragEvent.objects.get(kind="graded").body == {"size": "S", "fresh": True}
    grading.grade_frags([frag.pk], size="M", by=grower)
    assert fresh(frag).fresh is False
    with refused("is graded ready, so it is no fresh cut", error=Conflict):
        grading.grade_frags([frag.pk], size="M", fresh=True, by=grower)
    grading.mark_not_ready([frag.pk], by=grower)
    grading.grade_frags([frag.pk], size="M", fresh=True, by=grower)
    grading.mark_not_ready([frag.pk], by=grower)
    assert (fresh(frag).stage, fresh(frag).fresh) == ("growing", False)
    assert not list(stock_differences())


def test_nothing_is_graded_in_quarantine(grower: Person) -> None:
    inside, outside = make_frags(grower, 2)
    rack = make_rack(grower, quarantine=True)
    aside.quarantine_frags([inside.pk], rack=rack, by=grower)
    with refused("is in quarantine, from where nothing is sold. Release it first", error=Conflict):
        grading.grade_frags([inside.pk, outside.pk], size="M", by=grower)
    assert {frag.stage for frag in map(fresh, [inside, outside])} == {"healing"}


# Words and numbers as the rule means them; the order of sizes is common practice, no source.
@pytest.mark.parametrize(
    ("least", "size", "heads", "below"),
    [
        (Least(), "S", None, False),
        (Least("M"), "S", None, True),
        (Least("M"), "M", None, False),
        (Least("M"), "mini", 1, False),
        (Least("mini"), "L", 9, True),
        (Least(heads=3), "L", 2, True),
        (Least(heads=3), "S", 3, False),
        (Least(heads=3), "S", None, False),
        (Least("M", 3), "L", 2, True),
        (Least("M", 3), "S", 4, True),
    ],
)
def test_what_is_below_the_least(
    least: Least, size: str, heads: int | None, *, below: bool
) -> None:
    assert least.is_below(size, heads) is below


def test_below_the_rule_is_said_and_not_refused(grower: Person) -> None:
    variety = make_variety(grower, name="Pier Moss")
    frag = make_frag(grower, colony=make_colony(grower, variety=variety))
    set_pace(variety.pk, ready_size="M", ready_heads=3, by=grower)
    assert "Pier Moss from size M or 3 heads" in say_below([fresh(frag)], size="S", heads=None)
    assert say_below([fresh(frag)], size="M", heads=None) == ""
    grading.grade_frags([frag.pk], size="S", by=grower)
    assert fresh(frag).stage == "ready"


def test_changing_the_rule_moves_the_days_of_living_frags(grower: Person) -> None:
    variety = make_variety(grower)  # an Acropora: SPS, 14 and 60 days
    colony = make_colony(grower, variety=variety)
    frags, other = make_frags(grower, 4, colony=colony), make_frag(grower)
    record_loss(frags[3].pk, pieces=1, cause="rtn", by=grower)
    with clock.at(clock.now() + timedelta(days=20)):
        recut_frag(frags[0].pk, into=2, by=grower)
        grading.mark_healed([frags[1].pk], by=grower)
        grading.grade_frags([frags[1].pk], size="S", by=grower)
        grading.mark_not_ready([frags[1].pk], by=grower)
    day = today()
    set_pace(variety.pk, heal_days=10, ready_days=90, see_days=3, by=grower)
    days = [(f.heal_by - day, f.likely_on - day) for f in map(fresh, frags)]  # type: ignore[operator]
    told = [(heal.days, likely.days) for heal, likely in days]
    # Cut again on day 20; said on day 20 not to be ready, so looked at again 14 days later.
    assert told == [(30, 110), (10, 64), (10, 90), (14, 60)]
    assert fresh(other).likely_on == day + timedelta(days=60)
    set_pace(variety.pk, by=grower)
    assert fresh(frags[2]).likely_on == day + timedelta(days=60)
    assert not list(stock_differences())


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"heal_days": 0}, "Healing: 0 days"),
        ({"ready_days": -4}, "Ready: -4 days"),
        ({"ready_days": 4_000}, "Ready: 4000 days. Write a number from 1 to 3,650"),
        ({"see_days": 0}, "To be seen: 0 days"),
        ({"ready_size": "XL"}, "'XL' is no size"),
        ({"ready_heads": 0}, "0 heads"),
        ({"ready_heads": 1000}, "1000 heads"),
        ({"ready_mm": 4}, "4 mm across: write a number from 5 to 500"),
        ({"ready_mm": 501}, "501 mm across"),
    ],
    ids=str,
)
def test_rules_that_cannot_be(grower: Person, asked: dict[str, Any], said: str) -> None:
    variety = make_variety(grower)
    with refused(said, error=InputError):
        set_pace(variety.pk, by=grower, **asked)
    with refused("There is no such variety", error=NotFound):
        set_pace(variety.pk + 99, by=grower)
    assert Variety.objects.get().ready_days is None


def test_a_rule_changes_all_frags_in_few_statements(
    grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    variety = make_variety(grower)
    make_frags(grower, 30, colony=make_colony(grower, variety=variety))
    with django_assert_max_num_queries(4):
        set_pace(variety.pk, heal_days=7, ready_days=9, by=grower)


def test_a_variety_is_changed_and_found_by_its_new_name(grower: Person) -> None:
    variety = make_variety(grower, name="Pier Moss", genus="Acropora")
    frag = make_frag(grower, colony=make_colony(grower, variety=variety))
    before = frag.likely_on
    changed = edit_variety(
        variety.pk, name="  Quay   Fern ", genus="Zoanthus", care="Little light", by=grower
    )
    assert (changed.name, changed.genus.name, changed.group) == (
        "Quay Fern",
        "Zoanthus",
        "zoanthid",
    )
    assert list(things_named("quay", kind=KIND)) == [variety.pk]
    assert list(things_named("pier", kind=KIND)) == []
    # SPS 60 days, all other groups 30: common practice, no source.
    assert before is not None
    assert fresh(frag).likely_on == before - timedelta(days=30)
    assert (
        edit_variety(variety.pk, name="quay fern", genus="Zoanthus", by=grower).name == "quay fern"
    )
    assert not list(stock_differences())


def test_a_name_that_is_taken_or_empty(grower: Person) -> None:
    variety, other = make_variety(grower), make_variety(grower)
    with refused("There is another variety", error=Conflict):
        edit_variety(variety.pk, name=other.name.upper(), genus="Acropora", by=grower)
    with refused("A variety needs a name", error=InputError):
        edit_variety(variety.pk, name=" ", genus="Acropora", by=grower)
    with refused("Nothing", error=NotFound):
        edit_variety(variety.pk, name="A", genus="Nothing", by=grower)
    assert Variety.objects.get(pk=variety.pk).name == variety.name
