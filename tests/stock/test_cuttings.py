"""Cutting colonies and taking in pieces from elsewhere."""

from datetime import date, timedelta
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Code, Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.rules.days import business_day
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.catalogue import add_rack, add_trough
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.actions.stops import start_stop
from fraginv.stock.models import Colony, Cutting, Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_colony, make_rack, make_variety
from tests.refusing import refused


@pytest.fixture
def colony(grower: Person) -> Colony:
    return make_colony(grower)


def test_twelve_on_plugs_and_one_lost_at_the_bench(grower: Person, colony: Colony) -> None:
    cutting = cut_colony(colony.pk, pieces=12, lost=1, by=grower)
    frags = list(cutting.frags.all())
    assert len({frag.code_id for frag in frags}) == 12
    assert {read_code(frag.code_id) for frag in frags} == {frag.code_id for frag in frags}
    assert {(f.stage, f.pieces, f.free, f.medium, f.is_lot) for f in frags} == {
        ("healing", 1, 1, "plug", False)
    }
    events = FragEvent.objects.filter(frag__cutting=cutting)
    assert list(events.values_list("seq", "kind")) == [(1, "cut")] * 12
    assert (cutting.pieces, cutting.lost, cutting.by) == (12, 1, grower)
    assert not list(stock_differences())


def test_second_cutting_of_the_sitting_makes_one_lot(grower: Person, colony: Colony) -> None:
    cut_colony(colony.pk, pieces=12, by=grower)
    cutting = cut_colony(colony.pk, pieces=30, lot=True, by=grower)
    (lot,) = cutting.frags.all()
    assert (lot.is_lot, lot.pieces, lot.free, lot.stage) == (True, 30, 30, "healing")
    assert lot.events.get().body == {"cutting": cutting.pk, "pieces": 30}


@pytest.mark.parametrize(("pieces", "most"), [(1, 15), (12, 15), (400, 40)])
def test_queries_hardly_grow_with_the_pieces(
    grower: Person,
    colony: Colony,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    pieces: int,
    most: int,
) -> None:
    with django_assert_max_num_queries(most):
        cut_colony(colony.pk, pieces=pieces, by=grower)


TOMORROW = "tomorrow"
BAD_INPUT: list[tuple[dict[str, Any], str]] = [
    ({"pieces": 0}, "0 living pieces"),
    ({"pieces": -4}, "-4 living pieces"),
    ({"pieces": 10_000}, "10,000 living pieces"),
    ({"pieces": 5, "lost": -1}, "-1 lost at the bench"),
    ({"pieces": 5, "medium": "rock"}, "frags stand on one of plug, disc, tile"),
    ({"pieces": 5, "day": TOMORROW}, "has not come yet"),
    ({"pieces": 5, "day": date(2000, 1, 1)}, "before the colony came in"),
    ({"pieces": 5, "first_code": "7K3-Q9F-X"}, "A character in 7K3-Q9F-X is wrong"),
    ({"pieces": 5, "first_code": "7K3-Q9F-N"}, "none of ours"),
]


@pytest.mark.parametrize(("asked", "said"), BAD_INPUT, ids=lambda value: str(value))
def test_bad_input_writes_nothing(
    grower: Person, colony: Colony, asked: dict[str, Any], said: str
) -> None:
    codes = Code.objects.count()
    if asked.get("day") == TOMORROW:
        asked = asked | {"day": today() + timedelta(days=1)}
    with refused(said):
        cut_colony(colony.pk, by=grower, **asked)
    assert not Cutting.objects.exists()
    assert not Frag.objects.exists()
    assert Code.objects.count() == codes
    assert Colony.objects.get(pk=colony.pk).last_cut_on is None


def test_colony_under_rest_needs_a_reason(grower: Person) -> None:
    colony = make_colony(grower, rest_days=30)
    cut_colony(colony.pk, pieces=3, by=grower)
    cut_colony(colony.pk, pieces=1, by=grower)
    with clock.at(clock.now() + timedelta(days=10)):
        with refused("rests until", error=Conflict):
            cut_colony(colony.pk, pieces=3, by=grower)
        cutting = cut_colony(colony.pk, pieces=3, by=grower, despite_rest="It broke")
    assert cutting.despite_rest == "It broke"
    with clock.at(clock.now() + timedelta(days=41)):
        later = cut_colony(colony.pk, pieces=3, by=grower, despite_rest="not needed")
    assert later.despite_rest == ""


def test_barred_dead_and_missing_colonies_are_not_cut(grower: Person, colony: Colony) -> None:
    bar_colony(colony, because="on loan", by=grower)
    with refused("barred from cutting: on loan", error=Conflict):
        cut_colony(colony.pk, pieces=3, by=grower)
    dead = make_colony(grower)
    Colony.objects.filter(pk=dead.pk).update(state="dead")
    with refused("is dead; it cannot be cut", error=Conflict):
        cut_colony(dead.pk, pieces=3, by=grower)
    with refused("no such colony", error=NotFound):
        cut_colony(987_654, pieces=3, by=grower)


def test_cutting_keyed_later_has_its_own_day(grower: Person, colony: Colony) -> None:
    day = today() - timedelta(days=40)
    cutting = cut_colony(colony.pk, pieces=2, by=grower, day=day)
    event = FragEvent.objects.filter(frag__cutting=cutting).first()
    assert event is not None
    zone = organisation().zone
    assert (event.day, business_day(event.at, zone)) == (day, day)
    assert business_day(event.recorded_at, zone) == today()
    earlier = cut_colony(colony.pk, pieces=1, by=grower, day=day - timedelta(days=5))
    assert earlier.day < day
    assert Colony.objects.get(pk=colony.pk).last_cut_on == day


def test_labels_printed_ahead_are_bound_in_their_order(grower: Person, colony: Colony) -> None:
    run = issue_blank_run(10)
    rack = make_rack(grower)
    cutting = cut_colony(
        colony.pk, pieces=4, by=grower, first_code=show_code(run[3].code).lower(), rack=rack
    )
    assert list(cutting.frags.order_by("pk").values_list("code_id", flat=True)) == [
        code.code for code in run[3:7]
    ]
    assert {frag.rack_id for frag in cutting.frags.all()} == {rack.pk}
    assert Code.objects.filter(kind="blank").count() == 6


@pytest.mark.parametrize(
    ("start", "pieces", "said"),
    [
        (8, 3, "Only 2 blank labels are left on this run, and 3 are needed"),
        (0, 5, "on the run that begins with .* is in use already"),
        (4, 2, "is in use already. Scan a blank label"),
    ],
    ids=["too short", "used in between", "used itself"],
)
def test_labels_that_cannot_be_bound(
    grower: Person, colony: Colony, start: int, pieces: int, said: str
) -> None:
    run = issue_blank_run(10)
    cut_colony(colony.pk, pieces=1, by=grower, first_code=run[4].code)
    with refused(said, error=Conflict):
        cut_colony(colony.pk, pieces=pieces, by=grower, first_code=run[start].code)
    assert Frag.objects.count() == 1
    assert Code.objects.filter(kind="blank").count() == 9


def test_a_label_of_something_else_is_not_bound(grower: Person, colony: Colony) -> None:
    with refused("is in use already", error=Conflict):
        cut_colony(colony.pk, pieces=1, by=grower, first_code=colony.code_id)


def test_pieces_from_elsewhere_come_in_growing(grower: Person) -> None:
    variety = make_variety(grower)
    frag = receive_frag(variety, pieces=4, by=grower, rack=make_rack(grower))
    assert (frag.stage, frag.pieces, frag.is_lot, frag.colony) == ("growing", 4, True, None)
    assert frag.events.get().kind == "received"
    with refused("0 living pieces", error=InputError):
        receive_frag(variety, pieces=0, by=grower)
    assert not list(stock_differences())


def test_tool_and_dip_are_written_down(grower: Person, colony: Colony) -> None:
    cutting = cut_colony(colony.pk, pieces=2, tool="cutter", dip=" iodine  dip ", by=grower)
    assert (cutting.tool, cutting.dip) == ("cutter", "iodine dip")
    with refused("'axe' is no tool", error=InputError):
        cut_colony(colony.pk, pieces=2, tool="axe", by=grower)
    with refused("at most 60 characters", error=InputError):
        cut_colony(colony.pk, pieces=2, dip="x" * 61, by=grower)
    assert Cutting.objects.count() == 1


def test_more_than_a_colony_bears_needs_a_reason(grower: Person, colony: Colony) -> None:
    Colony.objects.filter(pk=colony.pk).update(most_pieces=10)
    cut_colony(colony.pk, pieces=6, lost=1, by=grower)
    said = "11 pieces off this colony in one sitting, 7 of them before: its most is 10"
    with refused(said, error=Conflict):
        cut_colony(colony.pk, pieces=4, by=grower)
    cut_colony(colony.pk, pieces=3, by=grower)
    cutting = cut_colony(colony.pk, pieces=4, despite_rest="it overgrows the rack", by=grower)
    assert cutting.despite_rest == "it overgrows the rack"
    assert Cutting.objects.count() == 3
    with clock.at(clock.now() + timedelta(days=1)):
        assert not cut_colony(colony.pk, pieces=10, by=grower).despite_rest


def test_what_is_cut_in_stopped_water_is_set_apart_where_the_stop_does_not_hold(
    grower: Person,
) -> None:
    rack = make_rack(grower)
    other = add_rack(
        add_trough(rack.trough.system, name="Far", by=grower),
        name="far rack",
        rows=2,
        columns=2,
        by=grower,
    )
    colony = make_colony(grower, rack=rack)
    cut_colony(colony.pk, pieces=1, rack=other, by=grower)
    start_stop(rack.trough, reason="flatworms", ends_when="three clean checks", by=grower)
    cuttings = [cut_colony(colony.pk, pieces=2, rack=where, by=grower) for where in (rack, other)]
    told = [set(cutting.frags.values_list("apart", flat=True)) for cutting in cuttings]
    assert told == [{False}, {True}]
    assert Frag.objects.filter(apart=True).count() == 2
    assert not list(stock_differences())
