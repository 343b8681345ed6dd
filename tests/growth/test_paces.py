"""Paces counted from a house's own history, and forecasts from them."""

import math
from datetime import timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.growth.actions.paces import count_paces
from fraginv.growth.models import VarietyPace
from fraginv.growth.queries.forecasts import counted, forecasts_of, paces_for, ready_by
from fraginv.growth.queries.histories import histories, sizes_of
from fraginv.growth.rules.forecast import Basis
from fraginv.growth.rules.paces import supposed_pace
from fraginv.growth.rules.priors import USUAL
from fraginv.stock.actions.arrivals import Incoming, receive_pieces
from fraginv.stock.actions.grading import grade_frags, mark_not_ready
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.parts import recut_frag
from fraginv.stock.actions.varieties import set_pace
from fraginv.stock.models import Colony, Frag, Variety
from tests.factories import make_colony, make_rack, make_variety
from tests.growth.rows import ago, cut, grade, measure, noon


@pytest.fixture
def colony(grower: Person) -> Colony:
    """A colony of a variety of which nothing is known yet."""
    return make_colony(grower, variety=make_variety(grower, name="Pier Moss"))


def known(colony: Colony) -> VarietyPace:
    count_paces()
    return VarietyPace.objects.get(variety=colony.variety_id)


def test_a_house_without_history_has_what_is_usual(colony: Colony) -> None:
    assert count_paces() == 1
    pace = VarietyPace.objects.get()
    assert math.exp(pace.log_days) == pytest.approx(USUAL["SPS"].days)
    assert (pace.became_ready, pace.measured, pace.graded_measured) == (0, 0, 0)
    assert pace.ready_log_area is None
    assert pace.counted_on == today()
    assert paces_for([colony.variety])[colony.variety_id] == supposed_pace("SPS")


def test_its_own_cuttings_tell_and_may_be_counted_twice(colony: Colony, grower: Person) -> None:
    for days in (350, 300, 250, 190):
        grade(cut(colony, by=grower, days=days), by=grower, days=days - 130)
    first, second = known(colony), known(colony)
    assert first.pk == second.pk
    assert first.became_ready == 24
    assert USUAL["SPS"].days < math.exp(first.log_days) < 130.5
    assert math.exp(first.log_days) > 115
    assert VarietyPace.objects.count() == 1


def test_what_grows_died_or_went_fresh_counts_as_not_ready(colony: Colony, grower: Person) -> None:
    frags = cut(colony, by=grower, days=200)
    grade(frags[:2], by=grower, days=80)
    with clock.at(noon(ago(150))):
        record_loss(frags[2].pk, pieces=1, cause="pest", by=grower)
        grade_frags([frags[3].pk], size="S", by=grower, fresh=True)
    grade([frags[3]], by=grower, days=20)
    with clock.at(noon(ago(100))):
        grade_frags([frags[4].pk], size="M", by=grower)
        mark_not_ready([frags[4].pk], by=grower)
    (history,) = histories(today=today())
    told = {
        ((one.ready_on - one.cut_on).days if one.ready_on else None): (one.end_on, one.frags)
        for one in history.spans
    }
    assert told[120] == (None, 2)
    fates = sorted((str(one.end_on), one.frags) for one in history.spans if one.ready_on is None)
    assert fates == sorted([(str(ago(150)), 2), ("None", 1)]) or fates == sorted(
        [(str(ago(150)), 1), (str(ago(150)), 1), ("None", 1)]
    )
    assert history.life.deaths == 1
    assert history.life.piece_days > 5 * 50


def test_what_came_from_elsewhere_or_was_cut_again_tells_nothing(
    colony: Colony, grower: Person
) -> None:
    rack = make_rack(grower, quarantine=True)
    receive_pieces([Incoming(colony.variety, 3)], rack=rack, by=grower)
    frags = cut(colony, by=grower, days=100, pieces=2)
    with clock.at(noon(ago(40))):
        recut_frag(frags[0].pk, into=2, by=grower)
    (history,) = histories(today=today())
    assert sum(one.frags for one in history.spans if one.cut_on == ago(100)) == 1
    assert all(one.cut_on != today() for one in history.spans)
    told = forecasts_of(Frag.objects.select_related("variety"), today=today())
    whole, again = (told[pk].middle for pk in (frags[1].pk, Frag.objects.get(pk=frags[0].pk).pk))
    assert whole < again
    arrived = Frag.objects.filter(arrival__isnull=False)
    assert not told.keys() & set(arrived.values_list("pk", flat=True))


def test_measured_frags_tell_growth_and_the_size_at_grading(colony: Colony, grower: Person) -> None:
    for place, frag in enumerate(cut(colony, by=grower, days=200, pieces=4)):
        for days in (180, 150, 120):
            area = 250 * math.exp((0.008 + 0.001 * place) * (180 - days))
            measure(frag, by=grower, days=days, area_mm2=area)
        grade([frag], by=grower, days=110)
    pace = known(colony)
    assert (pace.measured, pace.graded_measured, pace.became_ready) == (4, 4, 4)
    assert pace.rate == pytest.approx(0.0095, abs=0.001)
    assert pace.ready_log_area is not None
    assert math.exp(pace.ready_log_area) == pytest.approx(250 * math.exp(0.0095 * 70), rel=0.15)
    measurement = frag.measurements.first()
    assert measurement is not None
    type(measurement).objects.filter(pk=measurement.pk).update(replaced_at=clock.now())
    assert len(sizes_of([frag.pk])[frag.pk]) == 2
    assert sizes_of([]) == {}


def test_forecasts_ask_two_questions_however_many_frags(
    colony: Colony,
    grower: Person,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    count_paces()
    frags = cut(colony, by=grower, days=40, pieces=8)
    other = make_colony(grower)
    frags += cut(other, by=grower, days=30, pieces=8)
    for frag in frags[::2]:
        measure(frag, by=grower, days=10, area_mm2=300)
    page, day = list(Frag.objects.select_related("variety").order_by("pk")), today()
    with django_assert_num_queries(2):
        told = forecasts_of(page, today=day)
    assert len(told) == 16
    bases = [told[frag.pk].basis for frag in frags]
    assert bases == [Basis.BOTH, Basis.USUAL] * 8
    with django_assert_num_queries(1):
        forecasts_of(page[:1], today=day, measured=False)
    grade(page, by=grower, days=0)
    with django_assert_num_queries(0):
        assert forecasts_of(Frag.objects.none(), today=day) == {}
    with django_assert_num_queries(1):
        assert forecasts_of(Frag.objects.select_related("variety"), today=day) == {}


def test_sizes_from_before_it_was_cut_again_tell_nothing(colony: Colony, grower: Person) -> None:
    frags = cut(colony, by=grower, days=90, pieces=2)
    for frag in frags:
        measure(frag, by=grower, days=35, area_mm2=900)
        with clock.at(noon(ago(30))):
            recut_frag(frag.pk, into=2, by=grower)
    measure(frags[1], by=grower, days=2, area_mm2=300)
    rows = Frag.objects.select_related("variety").filter(pk__in=[frag.pk for frag in frags])
    found = forecasts_of(rows, today=today())
    assert [(found[frag.pk].basis, found[frag.pk].measured) for frag in frags] == [
        (Basis.USUAL, 0),
        (Basis.BOTH, 1),
    ]


def test_the_width_at_which_a_variety_is_sold_moves_the_day(colony: Colony, grower: Person) -> None:
    (frag,) = cut(colony, by=grower, days=60, pieces=1)
    for days, area in ((50, 200.0), (30, 250.0), (5, 310.0)):
        measure(frag, by=grower, days=days, area_mm2=area)
    found = []
    for width in (25, 50):
        Variety.objects.filter(pk=colony.variety_id).update(ready_mm=width)
        rows = Frag.objects.select_related("variety").filter(pk=frag.pk)
        found.append(forecasts_of(rows, today=today())[frag.pk])
    assert found[0].middle < found[1].middle
    assert found[0].measured == 3


def test_how_many_will_be_ready_by_a_day(
    colony: Colony,
    grower: Person,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    count_paces()
    old = cut(colony, by=grower, days=120, pieces=4)
    cut(colony, by=grower, days=10, pieces=20, lot=True)
    measure(old[0], by=grower, days=3, area_mm2=900)
    grade(old[3:], by=grower, days=1)
    day = today()
    with django_assert_num_queries(3):
        found = counted(colony.variety, today=day)
    assert found.pieces == 23
    expected = [one.expected for one in found.counts]
    assert expected == sorted(expected)
    assert 0 < expected[0] < 4 < expected[-1] < 23
    for one in found.counts:
        assert 0 <= one.least <= one.expected + 0.5
        assert one.expected - 0.5 <= one.most <= 23
    later = ready_by(colony.variety, today() + timedelta(days=14), today=today())
    assert later == found.counts[0]


def test_counting_does_not_ask_more_for_more(
    colony: Colony,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    with django_assert_max_num_queries(12) as one:
        count_paces()
    for _ in range(5):
        other = make_colony(grower)
        for days in (300, 200, 100):
            frags = cut(other, by=grower, days=days)
            grade(frags, by=grower, days=days - 90)
    with django_assert_max_num_queries(len(one)):
        assert count_paces() == 6


def test_what_somebody_wrote_of_a_variety_leads_while_it_is_new(
    colony: Colony, grower: Person
) -> None:
    set_pace(colony.variety_id, ready_days=300, by=grower)
    colony.variety.refresh_from_db()
    supposed = paces_for([colony.variety])[colony.variety_id]
    assert math.exp(supposed.log_days) == pytest.approx(375)
    assert math.exp(known(colony).log_days) == pytest.approx(375)
