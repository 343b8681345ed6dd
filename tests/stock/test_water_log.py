"""The water log: by hand, by table, drawn over losses, struck out."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.columns import Column
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import TableErrors
from fraginv.base.rules.roles import Role
from fraginv.base.tables import read_table
from fraginv.stock.actions.losses import record_loss, undo_loss
from fraginv.stock.actions.water import Reading, log_water, strike_entry
from fraginv.stock.loading import water as loading
from fraginv.stock.models import System, Trough, WaterEntry
from fraginv.stock.queries.water import Water, rows_out, water_page
from fraginv.stock.rules.water import MEASURES, WaterKind, read_value
from fraginv.stock.rules.water_lines import DayValue, draw_lines
from tests.conftest import People
from tests.factories import make_frags, make_rack
from tests.reading import words_on
from tests.refusing import refused

ClientFor = Callable[[Role | None], Client]
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
WARM = Reading(WaterKind.TEMPERATURE, Decimal("25.1"))
pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def trough(grower: Person) -> Trough:
    return make_rack(grower).trough


def test_several_kinds_at_one_moment(grower: Person, trough: Trough) -> None:
    log_water(
        trough.system,
        readings=[
            WARM,
            Reading(WaterKind.ALKALINITY, Decimal("8.2")),
            Reading(WaterKind.DOSE, text=" 40 mL  of kalk "),
        ],
        by=grower,
    )
    told = {entry.kind: entry.says for entry in WaterEntry.objects.all()}
    assert told == {
        "temperature": "Temperature 25.1 °C",
        "alkalinity": "Alkalinity 8.2 dKH",
        "dose": "Dose: 40 mL of kalk",
    }
    assert {(entry.at, entry.day) for entry in WaterEntry.objects.all()} == {
        (NOON, date(2026, 11, 25))
    }


@pytest.mark.parametrize(
    ("reading", "at", "said"),
    [
        (Reading(WaterKind.TEMPERATURE, Decimal(77)), None, "between 5 and 45 °C. 77 °F are 25"),
        (Reading(WaterKind.SALINITY, Decimal("1.026")), None, "about 35 ppt"),
        (Reading(WaterKind.CALCIUM, Decimal(42)), None, "Look at the decimal point"),
        (Reading(WaterKind.PHOSPHATE), None, "write down the value"),
        (Reading(WaterKind.OUTAGE, text="  "), None, "Say what the outage was"),
        (Reading(WaterKind.DOSE, text="x" * 201), None, "at most 200 characters"),
        (WARM, NOON + timedelta(minutes=1), "has not come yet"),
        (WARM, datetime(1980, 1, 1, tzinfo=UTC), "too long ago"),
    ],
)
def test_entries_that_cannot_be(
    grower: Person, trough: Trough, reading: Reading, at: datetime | None, said: str
) -> None:
    with refused(said, error=InputError):
        log_water(trough.system, readings=[reading], at=at, by=grower)
    assert not WaterEntry.objects.exists()


@pytest.mark.parametrize("text", ["8,2", "", "8.2 dKH", "1e3", "8.2345", "٨"])
def test_numbers_that_are_none(text: str) -> None:
    with pytest.raises(InputError, match="is not a number; write it with a point"):
        read_value(text, kind=WaterKind.ALKALINITY)
    assert read_value(" 8.25 ", kind=WaterKind.ALKALINITY) == Decimal("8.25")


def test_sea_water_is_within_all_bounds() -> None:
    """Near 7 dKH and about 410 mg/L of calcium; the other kinds from memory."""
    usual = {
        WaterKind.ALKALINITY: "7", WaterKind.CALCIUM: "410", WaterKind.MAGNESIUM: "1280",
        WaterKind.TEMPERATURE: "25", WaterKind.SALINITY: "35", WaterKind.NITRATE: "0.1",
        WaterKind.PHOSPHATE: "0.01",
    }  # fmt: skip
    assert set(usual) == set(MEASURES)
    for kind, value in usual.items():
        assert read_value(value, kind=kind) == Decimal(value)


def test_the_same_moment_is_written_once(grower: Person, trough: Trough) -> None:
    log_water(trough.system, readings=[WARM], by=grower)
    log_water(trough, readings=[WARM], by=grower)  # the trough's own
    with refused("written for that moment already: 25.100 °C. Strike it out", error=Conflict):
        log_water(trough.system, readings=[WARM], by=grower)
    entry = WaterEntry.objects.get(trough__isnull=True)
    strike_entry(entry.pk, by=grower)
    with refused("struck out already", error=Conflict):
        strike_entry(entry.pk, by=grower)
    log_water(trough.system, readings=[WARM], by=grower)
    assert WaterEntry.objects.count() == 3


def test_nothing_and_nobody(people: People, grower: Person, trough: Trough) -> None:
    with refused("at least one value", error=InputError):
        log_water(trough, readings=[], by=grower)
    for by in (people[Role.SELLER], people[Role.READER]):
        with refused("does not let you", error=NotAllowed):
            log_water(trough, readings=[WARM], by=by)
        with refused("does not let you", error=NotAllowed):
            strike_entry(1, by=by)


def bring(text: str, *, by: Person, dry_run: bool = False) -> LoadResult:
    rows = read_table(text.encode(), columns=list[Column](loading.columns()))
    assert loading.check(rows, by=by) == loading.load(rows, by=by, dry_run=True)
    return loading.load(rows, by=by, dry_run=dry_run)


WIDE = """day,time,system,trough,temperature,alkalinity
2026-11-20,8:15,display,,25.1,8.2
2026-11-21,08:15,Display,A,25.3,
2026-11-22,,Display,,,8.4
"""


def test_a_table_with_a_kind_a_column_and_the_same_again(grower: Person, trough: Trough) -> None:
    assert bring(WIDE, by=grower).said == ["4 entries of the water log."]
    entry = WaterEntry.objects.get(kind="temperature", trough=trough)
    assert entry.at == datetime(2026, 11, 21, 13, 15, tzinfo=UTC)
    again = bring(WIDE, by=grower)
    assert again.said == [
        "0 entries of the water log.",
        "4 entries stood there already with the same value: left as they are.",
    ]
    assert WaterEntry.objects.count() == 4
    assert bring(WIDE + "2026-11-23,,Display,,25.0,\n", by=grower).said[0].startswith("1 entry of")


def test_a_table_with_a_kind_a_row(grower: Person, trough: Trough) -> None:
    text = """day,system,kind,value,text
2026-11-20,Display,salinity,34.8,
2026-11-20,Display,Outage,,Two hours without power
2026-11-20,Display,salinity,34.8,
"""
    assert bring(text, by=grower, dry_run=True).rows == 3
    assert not WaterEntry.objects.exists()
    assert bring(text, by=grower).said[0] == "2 entries of the water log."
    assert WaterEntry.objects.get(kind="outage").text == "Two hours without power"


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        ("2026-11-20,,Lagoon,,,,,25,", "system", "no system Lagoon"),
        ("2026-11-20,,Display,Z,,,,25,", "trough", "Display has no trough Z"),
        ("2026-11-20,25:00,Display,,,,,25,", "time", "no time of day"),
        ("2026-12-20,,Display,,,,,25,", "day", "has not come yet"),
        ("2026-11-20,,Display,,,,,,", "kind", "nothing is measured"),
        ("2026-11-20,,Display,,,8.2,,,", "kind", "say what the value is of"),
        ("2026-11-20,,Display,,,,broken pump,,", "kind", "outage, treatment, dose"),
        ("2026-11-20,,Display,,calcium,42,,,", "value", "Calcium of 42 mg/L cannot be"),
        ("2026-11-20,,Display,,dose,5,,,", "value", "a dose has no value"),
        ("2026-11-20,,Display,,dose,,,,", "text", "Say what the dose was"),
        ("2026-11-20,,Display,,temperature,25,,25,", "temperature", "stands twice"),
        ("2026-11-20,,Display,,,,,77,", "temperature", "77 °F are 25"),
        ("2026-11-18,,Display,,,,,26,", "temperature", "the log says 25.1 of that moment"),
        ("2026-11-21,,Display,,,,,26,", "temperature", "line 2 says otherwise"),
    ],
)
def test_bad_rows_are_named_with_line_and_column(
    grower: Person, trough: Trough, row: str, column: str, said: str
) -> None:
    with clock.at(datetime(2026, 11, 18, 17, tzinfo=UTC)):
        log_water(trough.system, readings=[WARM], by=grower)
    heading = "day,time,system,trough,kind,value,text,temperature,alkalinity"
    good = "2026-11-21,,Display,,,,,25,"
    with pytest.raises(TableErrors) as caught:
        bring(f"{heading}\n{good}\n{row}\n", by=grower)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column) == (3, column)
    assert said in problem.reason
    assert WaterEntry.objects.count() == 1


def day(number: int) -> date:
    return date(2026, 11, number)


def test_a_line_breaks_at_a_gap_and_bars_stand_on_their_days() -> None:
    values = [
        DayValue(day(n), v, v - 0.5, v) for n, v in [(1, 7), (2, 8), (3, 8), (12, 9), (13, 7)]
    ]
    losses, span = {day(1): 2, day(30): 4}, {"first": day(1), "last": day(30)}
    drawn = draw_lines(values, losses=losses, marked=[day(3)], **span)
    assert drawn.lines == ["M10 75.2L30 41.6L50 41.6", "M230 8L250 75.2"]
    assert [dot.x for dot in drawn.dots] == [10, 30, 50, 230, 250]
    assert min(dot.y for dot in drawn.dots) >= 8
    assert [(bar.x, bar.height) for bar in drawn.bars] == [(2, 18), (582, 36)]
    assert drawn.marks == [50]
    assert len(drawn.ranges) == 5
    weekly = [DayValue(day(n), 7, 7, 7) for n in (1, 9, 17)]
    assert len(draw_lines(weekly, losses={}, marked=[], **span).lines) == 1


def test_one_value_and_none_are_drawn() -> None:
    one = draw_lines([DayValue(day(1), 7, 7, 7)], losses={}, marked=[], first=day(1), last=day(1))
    assert (one.lines, one.bars, one.ranges) == ([], [], [])
    assert (one.dots[0].x, one.dots[0].y) == (300, 50)
    assert draw_lines([], losses={}, marked=[], first=day(2), last=day(1)).dots == []


def test_the_page_sums_by_day_and_counts_losses_of_the_same_water(
    grower: Person, trough: Trough
) -> None:
    display = trough.system
    for hours, value in [(0, "25"), (1, "27"), (24, "24")]:
        log_water(
            display,
            readings=[Reading(WaterKind.TEMPERATURE, Decimal(value))],
            at=NOON - timedelta(hours=hours),
            by=grower,
        )
    log_water(trough, readings=[Reading(WaterKind.OUTAGE, text="Two hours")], by=grower)
    here = make_frags(grower, 3, rack=trough.racks.get())
    losses = [record_loss(frag.pk, pieces=1, cause="rtn", by=grower) for frag in here]
    undo_loss(losses[0].pk, by=grower)
    (elsewhere,) = make_frags(grower, 1)
    record_loss(elsewhere.pk, pieces=1, cause="rtn", by=grower)
    page = water_page(Water(display), first=day(1), last=today())
    (line,) = page.lines
    assert (line.name, line.low, line.high, line.latest.mean) == ("Temperature", 24, 27, 26)
    assert page.lost == 2
    assert [entry.says for entry in page.happened] == ["Outage: Two hours"]
    assert water_page(Water(display, trough), first=day(1), last=today()).lost == 2
    rows = list(rows_out(Water(display), first=day(1), last=today(), zone="America/New_York"))
    assert [row[1] for row in rows] == ["12:00:00", "11:00:00", "12:00:00", "12:00:00"]
    assert rows[0][4:7] == ["temperature", Decimal("24.000"), "°C"]


def test_over_http(client_for: ClientFor, people: People) -> None:
    grower = client_for(Role.GROWER)
    assert "There is no water yet" in words_on(grower.get("/stock/water"))
    trough = make_rack(people[Role.GROWER]).trough
    system = trough.system
    assert "Nothing is written down" in words_on(grower.get("/stock/water"))
    shown = grower.get("/stock/water/add", {"water": f"trough-{trough.pk}"})
    assert f'value="trough-{trough.pk}" selected' in shown.content.decode()
    sent = {"water": f"system-{system.pk}", "temperature": "25.1", "alkalinity": "8.2"}
    wrong = grower.post("/stock/water/add", sent | {"temperature": "77"} | key())
    assert wrong.status_code == 400
    assert "77 °F are 25 °C" in words_on(wrong)
    answer = grower.post("/stock/water/add", sent | {"at": "2026-11-25T11:30"} | key())
    assert answer["Location"] == f"/stock/water?water=system-{system.pk}"
    assert {entry.at.hour for entry in WaterEntry.objects.all()} == {16}
    page = grower.get(answer["Location"])
    assert "Temperature 25.1 °C" in words_on(page)
    assert page.content.decode().count('<svg class="series__picture"') == 2
    entry = WaterEntry.objects.get(kind="alkalinity")
    struck = grower.post(f"/stock/water/{entry.pk}/strike", {"back": "/stock/water"} | key())
    assert struck["Location"] == "/stock/water"
    page = grower.get("/stock/water")
    assert page.content.decode().count('<svg class="series__picture"') == 1
    assert "struck out" in words_on(page)
    again = grower.post(f"/stock/water/{entry.pk}/strike", key())
    assert "struck out already" in words_on(again)
    table = b"".join(grower.get("/stock/water.csv").streaming_content).decode()  # type: ignore[attr-defined]
    assert "2026-11-25,11:30:00,Display,,temperature,25.1" in table


def key() -> dict[str, str]:
    return {"replay_key": str(uuid4())}


def test_who_may_and_bad_addresses(client_for: ClientFor, trough: Trough) -> None:
    assert client_for(Role.READER).get("/stock/water").status_code == 200
    assert client_for(Role.SELLER).get("/stock/water/add").status_code == 403
    assert client_for(None).get("/stock/water").status_code == 302
    grower = client_for(Role.GROWER)
    for water in ("trough-99", "system-x", "lagoon"):
        assert grower.get("/stock/water", {"water": water}).status_code == 404
    assert grower.get("/stock/water", {"after": "99"}).status_code == 404
    assert grower.get("/stock/water", {"days": "7000"}).status_code == 200


def test_as_many_questions_for_many_as_for_one(
    client_for: ClientFor,
    grower: Person,
    trough: Trough,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.GROWER)
    for count in (1, 50):
        for n in range(count):
            log_water(trough, readings=[WARM], at=NOON - timedelta(hours=n + count), by=grower)
        with django_assert_max_num_queries(12):
            client.get("/stock/water")
    assert System.objects.count() == 1
