"""Stop-sales: what they forbid, what they touch, and who bought from there."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.front.queries.bought import Bought, bought_from, call_rows
from fraginv.front.queries.stops import stop_page
from fraginv.stock.actions.aside import quarantine_frags
from fraginv.stock.actions.catalogue import add_system, add_trough
from fraginv.stock.actions.claims import hold_frag, take_for_sale
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.actions.stops import Concern, end_stop, start_stop
from fraginv.stock.models import Colony, Rack, RackEvent, StopSale, Trough
from fraginv.stock.queries.frags import saleable_frags
from fraginv.stock.queries.stops import stops
from fraginv.stock.rules.holds import ClaimKind
from fraginv.stock.rules.racks import RackKind
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.reading import words_on
from tests.refusing import refused
from tests.trade.rows import Shop, open_shop

ClientFor = Callable[[Role | None], Client]
START = datetime(2026, 11, 2, 15, tzinfo=UTC)
WORDS: dict[str, Any] = {"reason": "Flatworms", "ends_when": "three clean checks"}


def on(day: int, hour: int = 15) -> datetime:
    return datetime(2026, 11, day, hour, tzinfo=UTC)


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def other_trough(people: People) -> Trough:
    """A trough in water of its own."""
    by = people[Role.MANAGER]
    return add_trough(add_system("Second water", by=by), name="B", by=by)


def move_rack(rack: Rack, trough: Trough, *, by: Person) -> None:
    """Write down that a whole rack went to another trough."""
    RackEvent.objects.create(
        rack=rack,
        seq=rack.last_seq + 1,
        kind=RackKind.MOVED.value,
        at=clock.now(),
        recorded_at=clock.now(),
        day=today(),
        by=by,
        body={"from": rack.trough_id, "to": trough.pk},
    )
    Rack.objects.filter(pk=rack.pk).update(trough=trough, last_seq=rack.last_seq + 1)
    rack.refresh_from_db()


def codes(bought: Bought) -> set[str]:
    lines = [line for buyer in bought.buyers for line in buyer.lines] + list(bought.nameless)
    return {line.frag.code_id for line in lines if line.frag}


def test_nothing_of_it_is_held_or_sold_until_it_is_ended(shop: Shop) -> None:
    rack = make_rack(shop.manager)
    lot, other = shop.priced_lot(5, rack=rack), shop.priced_lot(5)
    stop = start_stop(rack.trough, by=shop.seller, **WORDS)
    said = "a stop-sale holds for it: Flatworms, until three clean checks"
    with refused(said, error=Conflict):
        hold_frag(lot.pk, pieces=1, kind=ClaimKind.WALK, by=shop.seller, for_name="Ines Varga")
    with refused(said, error=Conflict):
        shop.sell(lot, 1)
    shop.sell(other, 1)
    assert not saleable_frags().filter(pk=lot.pk).exists()
    end_stop(stop.pk, because="No worm on three plugs.", by=shop.manager)
    shop.sell(lot, 1)
    assert not stops().exists()
    with refused("has ended already", error=Conflict):
        end_stop(stop.pk, because="Again.", by=shop.manager)


def test_a_held_piece_cannot_be_sold_while_it_lasts(shop: Shop) -> None:
    lot = shop.priced_lot(5)
    hold = hold_frag(lot.pk, pieces=2, kind=ClaimKind.NAMED, by=shop.seller, for_name="Ines Varga")
    stop = start_stop(lot.variety, by=shop.seller, **WORDS)
    with refused("a stop-sale holds for it", error=Conflict):
        take_for_sale(lot.pk, pieces=2, by=shop.seller, hold_id=hold.pk)
    page = stop_page(stop, after=None)
    assert page.touched is not None
    assert [claim.pk for claim in page.touched.promises] == [hold.pk]
    end_stop(stop.pk, because="Clean.", by=shop.manager)
    take_for_sale(lot.pk, pieces=2, by=shop.seller, hold_id=hold.pk)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"reason": " "}, "Say why the sale is stopped"),
        ({"ends_when": ""}, "Say what ends it"),
        ({"reason": "x" * 201}, "at most 200 characters"),
        ({"since": date(2026, 11, 3)}, "has not come yet"),
        ({"since": date(2025, 11, 1)}, "more than a year ago"),
    ],
)
def test_a_stop_says_why_and_until_what(
    shop: Shop, change: dict[str, str | date], said: str
) -> None:
    with clock.at(START):
        variety = make_variety(shop.manager)
        with refused(said, error=InputError):
            start_stop(variety, by=shop.manager, **(WORDS | change))
        start_stop(variety, by=shop.manager, since=date(2025, 11, 2), **WORDS)


def test_rights_are_asked_by_the_actions_too(people: People) -> None:
    variety = make_variety(people[Role.GROWER])
    with refused("does not let you stop a sale", error=NotAllowed):
        start_stop(variety, by=people[Role.READER], **WORDS)
    stop = start_stop(variety, by=people[Role.GROWER], **WORDS)
    with refused("A manager or owner ends", error=NotAllowed):
        end_stop(stop.pk, because="Clean.", by=people[Role.SELLER])
    with refused("why it may be sold again", error=InputError):
        end_stop(stop.pk, because=" ", by=people[Role.OWNER])


def test_who_bought_what_was_in_the_water_since_the_day(shop: Shop, other_trough: Trough) -> None:
    with clock.at(on(2)):
        here, there = make_rack(shop.manager), make_rack(shop.manager)
        move_rack(there, other_trough, by=shop.manager)
        lots = {
            name: shop.priced_lot(4, rack=rack)
            for name, rack in {
                "stayed": here,
                "left before": here,
                "left after": here,
                "came": there,
                "elsewhere": there,
                "sold before": here,
            }.items()
        }
        nowhere = shop.priced_lot(4)
    with clock.at(on(5)):
        place_frags([lots["left before"].pk], rack=there, by=shop.manager)
        shop.sell(lots["sold before"], 1, customer=shop.customer("Early Bird", kind=shop.retail))
    with clock.at(on(12)):
        place_frags([lots["left after"].pk], rack=there, by=shop.manager)
        place_frags([lots["came"].pk], rack=here, by=shop.manager)
    with clock.at(on(15)):
        customer = shop.customer("Saltmarsh Corals", phone="555-0142", kind=shop.retail)
        for lot in [*lots.values(), nowhere]:
            shop.sell(lot, 1, customer=customer)
        stop = start_stop(here.trough, by=shop.seller, since=date(2026, 11, 10), **WORDS)
        found = bought_from(stop, since=stop.since)
    wanted = {lots[name].code_id for name in ("stayed", "left after", "came", "sold before")}
    assert codes(found) == wanted
    assert [buyer.name for buyer in found.buyers] == ["Saltmarsh Corals"]
    assert found.pieces == 4
    with clock.at(on(15)):
        longer = bought_from(stop, since=date(2026, 11, 3))
    assert [buyer.name for buyer in longer.buyers] == ["Early Bird", "Saltmarsh Corals"]
    assert lots["left before"].code_id in codes(longer)
    assert not {lots["elsewhere"].code_id, nowhere.code_id} & codes(longer)


def test_moves_of_whole_racks_count(shop: Shop, other_trough: Trough) -> None:
    with clock.at(on(2)):
        rack = make_rack(shop.manager)
        trough, lot = rack.trough, shop.priced_lot(9, rack=rack)
    with clock.at(on(6)):
        shop.sell(lot, 1, for_name="Ines Varga")
    with clock.at(on(8)):
        move_rack(rack, other_trough, by=shop.manager)
    with clock.at(on(10)):
        shop.sell(lot, 1, for_name="Tomas Reed")
        first = start_stop(trough, by=shop.seller, **WORDS)
        second = start_stop(other_trough.system, by=shop.seller, **WORDS)

        def names(stop: StopSale, day: int) -> list[str]:
            return [one.name for one in bought_from(stop, since=date(2026, 11, day)).buyers]

        assert names(first, 5) == ["Ines Varga", "Tomas Reed"]
        assert names(first, 7) == ["Tomas Reed"]  # it was there until the 8th
        assert names(first, 9) == []
        assert names(second, 5) == names(second, 9) == ["Tomas Reed"]


def test_quarantine_water_is_another(shop: Shop) -> None:
    with clock.at(on(2)):
        lot = shop.priced_lot(4, rack=make_rack(shop.manager))
        sick = make_rack(shop.manager, quarantine=True)
        shop.sell(lot, 1, for_name="Ines Varga")
    with clock.at(on(2, hour=16)):
        quarantine_frags([lot.pk], rack=sick, by=shop.manager)
        stop = start_stop(sick.trough.system, by=shop.seller, **WORDS)
        assert bought_from(stop, since=stop.since).pieces == 0


def test_a_colonys_descendants_a_variety_and_a_genus(shop: Shop) -> None:
    mother = make_colony(shop.manager)
    lot = shop.priced_lot(4, colony=mother)
    kept = make_frag(shop.manager, colony=mother)
    child = make_colony(shop.manager, variety=mother.variety)
    Colony.objects.filter(pk=child.pk).update(from_frag=kept)
    grandchild = make_lot(shop.manager, 4, colony=child, ready=True)
    zoa = make_variety(shop.manager, genus="Zoanthus")
    alien = shop.priced_lot(4, colony=make_colony(shop.manager, variety=zoa))
    for one in (lot, grandchild, alien):
        shop.sell(one, 1, for_name="Ines Varga")
    same = {lot.code_id, grandchild.code_id}
    asked: dict[Concern, set[str]] = {
        mother: same,
        child: {grandchild.code_id},
        mother.variety: same,
        mother.variety.genus: same,
        zoa.genus: {alien.code_id},
    }
    for concern, wanted in asked.items():
        stop = start_stop(concern, by=shop.seller, **WORDS)
        assert codes(bought_from(stop, since=today())) == wanted


def test_walk_ins_without_a_name_are_counted(shop: Shop) -> None:
    lot = shop.priced_lot(9)
    shop.sell(lot, 2)
    shop.sell(lot, 1)
    shop.sell(
        lot, 1, customer=shop.customer(phone="555-0142", email="ada@reef.example", kind=shop.retail)
    )
    stop = start_stop(lot.variety, by=shop.seller, **WORDS)
    found = bought_from(stop, since=today())
    assert (found.nameless_pieces, found.nameless_sales, found.pieces) == (3, 2, 4)
    rows = list(call_rows(found))
    assert rows[0][:4] == ["Saltmarsh Corals", "", "555-0142", "ada@reef.example"]
    assert rows[0][-2:] == [1, show_code(lot.code_id)]
    assert [row[0] for row in rows[1:]] == ["Walk-in without a name"] * 2


def test_a_log_that_cannot_be_followed_is_called_rather_than_missed(shop: Shop) -> None:
    lot = shop.priced_lot(4)
    shop.sell(lot, 1, for_name="Ines Varga")
    lot.events.filter(seq=1).update(body={})
    rack = make_rack(shop.manager)
    stop = start_stop(rack.trough, by=shop.seller, **WORDS)
    assert codes(bought_from(stop, since=today())) == {lot.code_id}


def test_what_is_noticed_was_there_before(client_for: ClientFor, shop: Shop) -> None:
    page = client_for(Role.GROWER).get("/stops/start")
    before = today() - timedelta(days=7)
    assert f'name="since" value="{before.isoformat()}"' in page.content.decode()
    assert "was there before, so 7 days back are proposed" in words_on(page)


def test_the_pages_over_http(client_for: ClientFor, shop: Shop) -> None:
    rack = make_rack(shop.manager)
    lot = shop.priced_lot(9, rack=rack)
    shop.sell(lot, 2, customer=shop.customer(phone="555-0142", kind=shop.retail))
    hold_frag(lot.pk, pieces=1, kind=ClaimKind.NAMED, by=shop.seller, for_name="Ines Varga")
    grower, seller, manager = map(client_for, (Role.GROWER, Role.SELLER, Role.MANAGER))
    assert "Everything may be sold" in words_on(grower.get("/stops"))
    shown = grower.get("/stops/start", {"trough": rack.trough_id})
    assert f'value="trough-{rack.trough_id}" selected' in shown.content.decode()
    sent = WORDS | {
        "water": f"trough-{rack.trough_id}",
        "since": today().isoformat(),
        "replay_key": str(uuid4()),
    }
    answer = grower.post("/stops/start", sent)
    stop = StopSale.objects.get()
    assert (answer.status_code, answer["Location"]) == (303, f"/stops/{stop.pk}")
    assert grower.post("/stops/start", sent)["Location"] == f"/stops/{stop.pk}"
    assert StopSale.objects.count() == 1

    told = words_on(grower.get(f"/stops/{stop.pk}"))
    assert "Touched now: 1 label, 7 pieces" in told
    assert "Ines Varga" not in told
    assert "Ines Varga" in words_on(seller.get(f"/stops/{stop.pk}"))
    told = words_on(grower.get(f"/stops/{stop.pk}/bought"))
    assert "2 pieces went to 1 customer" in told
    assert "Saltmarsh" not in told
    assert grower.get(f"/stops/{stop.pk}/bought.csv").status_code == 403
    told = words_on(seller.get(f"/stops/{stop.pk}/bought"))
    assert "Saltmarsh Corals 555-0142" in told
    table = seller.get(f"/stops/{stop.pk}/bought.csv")
    assert b"Saltmarsh Corals,,555-0142" in b"".join(table.streaming_content)  # type: ignore[attr-defined]
    assert seller.get(f"/stops/{stop.pk}/end").status_code == 403
    answer = manager.post(
        f"/stops/{stop.pk}/end", {"because": "Clean.", "replay_key": str(uuid4())}
    )
    assert answer["Location"] == "/stops"
    assert "Clean." in words_on(grower.get("/stops"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "Choose what is not sold"),
        ({"genus": "Acropora", "colony": "7K3-Q9F-2"}, "Choose what is not sold"),
        ({"genus": "Nonsuch"}, "Nonsuch"),
        ({"colony": "ABC"}, "code"),
        ({"water": "trough-99999"}, "Select a valid choice"),
    ],
)
def test_what_is_stopped_must_be_one_thing(
    client_for: ClientFor, change: dict[str, str], said: str
) -> None:
    sent = WORDS | {"since": "2026-11-02", "replay_key": str(uuid4())} | change
    answer = client_for(Role.GROWER).post("/stops/start", sent)
    assert answer.status_code == 400
    assert said in words_on(answer)
    assert not StopSale.objects.exists()


def test_missing_and_bad_addresses(client_for: ClientFor) -> None:
    manager = client_for(Role.MANAGER)
    for path in ("/stops/99", "/stops/99/bought", "/stops/99/bought.csv", "/stops/99/end"):
        assert manager.get(path).status_code == 404
    assert manager.get("/stops", {"after": "x"}).status_code == 400


def test_as_many_questions_for_many_as_for_one(
    client_for: ClientFor, shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rack = make_rack(shop.manager)
    client = client_for(Role.OWNER)
    for count in (1, 10):
        for _ in range(count):
            lot = shop.priced_lot(9, rack=rack)
            shop.sell(lot, 2, for_name=f"Visitor {lot.pk}")
            hold_frag(lot.pk, pieces=1, kind=ClaimKind.NAMED, by=shop.seller, for_name="Ines")
        stop = start_stop(rack.trough, by=shop.seller, **WORDS)
        with django_assert_max_num_queries(9):
            client.get(f"/stops/{stop.pk}")
        with django_assert_max_num_queries(9):
            client.get(f"/stops/{stop.pk}/bought")
        with django_assert_max_num_queries(6):
            client.get("/stops")
        end_stop(stop.pk, because="Clean.", by=shop.manager)


def test_who_bought_costs_what_was_sold_since(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with clock.at(on(2)):
        rack = make_rack(shop.manager)
        make_frags(shop.manager, 3, rack=rack, ready=True)
    with clock.at(on(2) + timedelta(days=20)):
        stop = start_stop(rack.trough, by=shop.seller, **WORDS)
        with django_assert_max_num_queries(3):  # nothing was sold: no log is read
            assert bought_from(stop, since=stop.since).pieces == 0
