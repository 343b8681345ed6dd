"""Quarantine and set apart: what may leave, when, and who says so."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.front.queries.away import apart_page, quarantine_page
from fraginv.stock.actions.arranging import withdraw_rack
from fraginv.stock.actions.arrivals import Incoming, receive_pieces
from fraginv.stock.actions.aside import quarantine_frags, release_frags, set_apart
from fraginv.stock.actions.catalogue import add_rack, add_system, add_trough
from fraginv.stock.actions.colonies import add_colony, change_colony
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.actions.looks import mark_seen, mark_wrong
from fraginv.stock.actions.moving import move_frag
from fraginv.stock.actions.rack_counts import settle_count
from fraginv.stock.actions.racks import see_rack
from fraginv.stock.actions.stops import end_stop, start_stop
from fraginv.stock.models import Colony, Frag, FragEvent, Rack, System
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.counts import Fate, Settled
from fraginv.stock.rules.quarantine import Stay, why_stays
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.reading import words_on
from tests.refusing import refused

ClientFor = Callable[[Role | None], Client]
START = datetime(2026, 11, 1, 17, tzinfo=UTC)


def in_quarantine(by: Person, count: int = 1) -> list[Frag]:
    frags = make_frags(by, count)
    quarantine_frags(
        [frag.pk for frag in frags], rack=make_rack(by, quarantine=True), by=by, reason="new"
    )
    System.objects.filter(quarantine=True).update(least_days=10, clean_checks=2)
    return frags


@pytest.fixture
def colony(grower: Person) -> Colony:
    return make_colony(grower)


def other_quarantine(by: Person, **asked: int) -> Rack:
    """Return a rack in a water of its own that asks something else."""
    system = add_system("Hospital", by=by, quarantine=True)
    System.objects.filter(pk=system.pk).update(**asked)
    return add_rack(add_trough(system, name="Tub", by=by), name="A", rows=2, columns=2, by=by)


def after(days: int) -> datetime:
    return START + timedelta(days=days)


@pytest.mark.parametrize(
    ("days", "checks", "said"),
    [
        (9, 2, "it stays until 2026-11-11"),
        (10, 2, ""),
        (10, 1, "1 clean check is missing"),
        (4, 0, "it stays until 2026-11-11 and 2 clean checks are missing"),
        (90, 5, ""),
    ],
)
def test_what_is_lacking(days: int, checks: int, said: str) -> None:
    stay = Stay(date(2026, 11, 1), checks, least_days=10, checks_needed=2)
    today = date(2026, 11, 1) + timedelta(days=days)
    assert why_stays(stay, today=today) == said
    assert stay.may_leave(today) == (said == "")
    assert stay.day_of(today) == days + 1


def test_it_leaves_after_its_days_and_clean_checks(grower: Person) -> None:
    with clock.at(START):
        (frag,) = in_quarantine(grower)
    with clock.at(after(5)):
        mark_seen([frag.pk], by=grower)
        with refused(
            "it stays until 2026-11-11 and 1 clean check is missing. A manager may",
            error=Conflict,
        ):
            release_frags([frag.pk], by=grower)
    with clock.at(after(9)):
        mark_seen([frag.pk], by=grower)
        with refused("in quarantine: it stays until 2026-11-11. A manager", error=Conflict):
            release_frags([frag.pk], by=grower)
    with clock.at(after(10)):
        release_frags([frag.pk], by=grower)
    frag.refresh_from_db()
    assert (frag.quarantined, frag.rack, frag.clean_checks) == (False, None, 0)
    assert not list(stock_differences())


def test_a_check_that_is_not_clean_begins_anew(grower: Person) -> None:
    with clock.at(START):
        (frag,) = in_quarantine(grower)
        mark_seen([frag.pk], by=grower)
        mark_wrong([frag.pk], wrong="pest", by=grower)
    with clock.at(after(12)):
        mark_seen([frag.pk], by=grower)
        with refused("1 clean check is missing", error=Conflict):
            release_frags([frag.pk], by=grower)


def test_a_check_counts_once_a_day_whoever_looks(grower: Person) -> None:
    with clock.at(START):
        (frag,) = in_quarantine(grower)
        mark_seen([frag.pk], by=grower)
        see_rack(Frag.objects.get(pk=frag.pk).rack_id or 0, by=grower)
        mark_seen([frag.pk], by=grower)
    with clock.at(after(10)):
        with refused("1 clean check is missing", error=Conflict):
            release_frags([frag.pk], by=grower)
        mark_seen([frag.pk], by=grower)
        release_frags([frag.pk], by=grower)
    assert not list(stock_differences())


def test_another_quarantine_asks_its_own_days_and_checks(grower: Person) -> None:
    with clock.at(START):
        (frag,) = in_quarantine(grower)
        for days in (1, 2):
            with clock.at(after(days)):
                mark_seen([frag.pk], by=grower)
    other = other_quarantine(grower, least_days=5, clean_checks=1)
    with clock.at(after(10)):
        with refused("another quarantine than .* begin anew", error=Conflict):
            move_frag(frag.pk, rack=other, by=grower)
        quarantine_frags([frag.pk], rack=other, by=grower)
        with refused("it stays until 2026-11-16 and 1 clean check is missing", error=Conflict):
            release_frags([frag.pk], by=grower)
    assert not list(stock_differences())


def test_nothing_leaves_a_quarantine_whose_sale_is_stopped(grower: Person, manager: Person) -> None:
    with clock.at(START):
        first, second = in_quarantine(grower, 2)
        for days in (1, 2):
            with clock.at(after(days)):
                mark_seen([first.pk, second.pk], by=grower)
    rack = Frag.objects.get(pk=first.pk).rack
    assert rack is not None
    with clock.at(after(20)):
        stop = start_stop(rack.trough.system, reason="Flatworms", ends_when="clean", by=grower)
        for who, why in ((grower, "clean"), (manager, "")):
            with refused("A stop-sale holds in this quarantine: Flatworms", error=Conflict):
                release_frags([first.pk], by=who, despite=why)
        release_frags([first.pk], by=manager, despite="Cleared by the vet.")
        end_stop(stop.pk, because="clean", by=manager)
        release_frags([second.pk], by=grower)
    assert not Frag.objects.filter(quarantined=True).exists()


def test_into_a_rack_that_is_out_of_use_comes_nothing(grower: Person, colony: Colony) -> None:
    racks = [make_rack(grower), make_rack(grower, quarantine=True)]
    for rack in racks:
        withdraw_rack(rack.pk, by=grower)
    display, tub = racks
    variety, frag = colony.variety, make_frag(grower)
    deeds: list[Callable[[], object]] = [
        lambda: cut_colony(colony.pk, pieces=1, rack=display, by=grower),
        lambda: receive_frag(variety, pieces=1, rack=display, by=grower),
        lambda: receive_pieces([Incoming(variety, 1)], rack=tub, by=grower),
        lambda: quarantine_frags([frag.pk], rack=tub, by=grower),
        lambda: add_colony(variety, rack=display, by=grower),
        lambda: change_colony(colony.pk, rack=display, by=grower),
    ]
    for deed in deeds:
        with refused("is out of use. Choose another rack", error=Conflict):
            deed()
    assert Frag.objects.count() == 1


def test_where_nobody_knows_the_strictest_water_decides(grower: Person) -> None:
    with clock.at(START):
        (frag,) = in_quarantine(grower)
        other_quarantine(grower, least_days=60)
    for days in (10, 20, 30):
        with clock.at(after(days)):
            mark_seen([frag.pk], by=grower)
    rack = Frag.objects.get(pk=frag.pk).rack
    assert rack is not None
    with clock.at(after(40)):
        settle_count(
            rack.pk, there={frag.pk: 0}, settled={frag.pk: Settled(Fate.LOOKED)}, by=grower
        )
        with refused("it stays until 2026-12-31", error=Conflict):
            release_frags([frag.pk], by=grower)
        assert not quarantine_page(after=None).leaving
    with clock.at(after(60)):
        release_frags([frag.pk], by=grower)


def test_a_manager_may_let_it_out_with_a_reason(grower: Person, manager: Person) -> None:
    with clock.at(START):
        first, second = in_quarantine(grower, 2)
        with refused("A manager may let it out", error=Conflict):
            release_frags([first.pk], by=grower, despite="It looks fine.")
        with refused("write down why it leaves all the same", error=Conflict):
            release_frags([first.pk], by=manager, despite="  ")
        release_frags([first.pk], by=manager, despite="Cleared by the vet.")
    event = FragEvent.objects.get(frag=first, kind="released")
    assert event.body == {"despite": "Cleared by the vet."}
    second.refresh_from_db()
    assert second.quarantined


def test_many_leave_together_or_none(grower: Person) -> None:
    with clock.at(START):
        frags = in_quarantine(grower, 2)
        apart = make_frag(grower)
        set_apart([apart.pk], by=grower)
    for days in (5, 10):
        with clock.at(after(days)):
            mark_seen([frags[0].pk], by=grower)
    with clock.at(after(11)):
        with refused("2 clean checks are missing", error=Conflict):
            release_frags([frag.pk for frag in [*frags, apart]], by=grower)
        assert Frag.objects.filter(quarantined=True).count() == 2
        release_frags([frags[0].pk, apart.pk], by=grower)
    assert Frag.objects.filter(quarantined=True).count() == 1


def test_in_quarantine_nothing_is_graded_ready(grower: Person) -> None:
    with clock.at(START):
        (frag,) = in_quarantine(grower)
        with refused("is in quarantine, from where nothing is sold. Release it", error=Conflict):
            grade_frags([frag.pk], size="M", by=grower)
    frag.refresh_from_db()
    assert (frag.stage, frag.quarantined) == ("healing", True)


def test_the_page_has_first_what_may_leave(grower: Person) -> None:
    with clock.at(START):
        old, clean, sick = in_quarantine(grower, 3)
    with clock.at(after(3)):
        (young,) = in_quarantine(grower)
    with clock.at(after(5)):
        mark_seen([clean.pk, young.pk], by=grower)
    with clock.at(after(11)):
        mark_seen([clean.pk, young.pk], by=grower)
        mark_wrong([sick.pk], wrong="rtn", by=grower)
        page = quarantine_page(after=None)
    assert [away.frag.pk for away in page.leaving] == [clean.pk]
    assert [away.frag.pk for away in page.staying] == [old.pk, sick.pk, young.pk]
    assert [away.day for away in page.staying] == [12, 12, 9]
    assert page.staying[2].lacking == "it stays until 2026-11-14"


def test_pages_of_quarantine_neither_repeat_nor_miss_one(grower: Person) -> None:
    with clock.at(START):
        frags = in_quarantine(grower, 90)
        first = quarantine_page(after=None)
        second = quarantine_page(after=first.portion.after)
        third = quarantine_page(after=second.portion.after)
    shown = [away.frag.pk for page in (first, second, third) for away in page.staying]
    assert shown == [frag.pk for frag in frags]
    assert third.portion.after is None


def test_apart_says_since_when_and_why(grower: Person) -> None:
    with clock.at(START):
        frag = make_frag(grower)
        set_apart([frag.pk], by=grower, reason="pale")
        make_frag(grower)
    with clock.at(after(4)):
        ((row,), portion) = apart_page(after=None)
        assert (row.since, row.reason) == (date(2026, 11, 1), "pale")
        set_apart([frag.pk], by=grower, reason="paler")
        ((row,), portion) = apart_page(after=None)
    assert (row.since, row.reason) == (date(2026, 11, 5), "paler")
    assert portion.after is None


def test_over_http(client_for: ClientFor, people: People) -> None:
    grower, manager = client_for(Role.GROWER), client_for(Role.MANAGER)
    assert "Nothing is in quarantine" in words_on(grower.get("/quarantine"))
    assert "Nothing is set apart" in words_on(grower.get("/apart"))
    (frag,) = in_quarantine(people[Role.GROWER])
    shown = words_on(grower.get("/quarantine"))
    assert "day 1 of 10" in shown
    assert "0 of 2 clean checks" in shown
    sent = {"codes": frag.code_id, "back": "/quarantine"}
    clean = grower.post("/stock/frags/clean", sent | {"replay_key": str(uuid4())})
    assert clean["Location"] == "/quarantine"
    assert "1 of 2 clean checks" in words_on(grower.get("/quarantine"))
    assert grower.get("/stock/frags/release", {"codes": frag.code_id}).status_code == 200
    refused = grower.post("/stock/frags/release", sent | {"replay_key": str(uuid4())})
    assert refused.status_code == 400
    assert "A manager may let it out before" in words_on(refused)
    early = sent | {"despite": "Cleared.", "replay_key": str(uuid4())}
    assert manager.post("/stock/frags/release", early)["Location"] == "/quarantine"
    assert not Frag.objects.get(pk=frag.pk).quarantined


def test_who_may(client_for: ClientFor) -> None:
    for url in ("/quarantine", "/apart"):
        assert client_for(Role.READER).get(url).status_code == 200
        assert client_for(None).get(url).status_code == 302
        assert client_for(Role.GROWER).get(url, {"after": "99"}).status_code == 404
        assert client_for(Role.GROWER).get(url, {"after": "x"}).status_code == 400
    for url in ("/stock/frags/release", "/stock/frags/clean"):
        assert client_for(Role.SELLER).get(url).status_code == 403
        assert client_for(Role.GROWER).get(url).status_code == 400


def test_as_many_questions_for_many_as_for_one(
    client_for: ClientFor, people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client = client_for(Role.GROWER)
    for count in (1, 10):
        in_quarantine(people[Role.GROWER], count)
        apart = make_frags(people[Role.GROWER], count)
        set_apart([frag.pk for frag in apart], by=people[Role.GROWER])
        with django_assert_max_num_queries(8):
            client.get("/quarantine")
        with django_assert_max_num_queries(5):
            client.get("/apart")
