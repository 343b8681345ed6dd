"""Losses of a period by every way of counting, and survival out of real lives."""

import random
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from django.db.models import Sum
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.days import month_bounds
from fraginv.base.rules.roles import Role
from fraginv.growth.rules.survival import ages_of, kaplan_meier
from fraginv.reports.queries.losses import loss_report, report_rows
from fraginv.reports.queries.months import month_figures
from fraginv.reports.queries.survival import Cohort, survival_of
from fraginv.reports.rules.curve import age_step, draw_curve
from fraginv.reports.rules.loss_bars import LossRow, Way, draw_bars, merged
from fraginv.stock.actions.claims import take_back, take_for_sale
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.actions.log import when
from fraginv.stock.actions.losses import record_loss, undo_loss
from fraginv.stock.actions.parts import recut_frag
from fraginv.stock.models import Claim, Colony, Cutting, Frag, Loss
from fraginv.stock.rules.stages import CAUSES
from tests.conftest import People
from tests.factories import make_colony, make_rack
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
START = datetime(2026, 9, 1, 16, tzinfo=UTC)
END = date(2026, 11, 30)


@pytest.fixture
def colonies(grower: Person) -> list[Colony]:
    with clock.at(START):
        return [make_colony(grower) for _ in range(3)]


@pytest.fixture
def lives(colonies: list[Colony], people: People) -> Iterator[list[Cutting]]:
    """Cuttings of three colonies by two people, with losses at random over three months."""
    chance = random.Random(4)
    grower, manager = people[Role.GROWER], people[Role.MANAGER]
    cuttings = []
    with clock.at(START):
        racks = [make_rack(grower), None]
    for number, colony in enumerate(colonies * 2):
        with clock.at(START + timedelta(days=7 * number)):
            by = (grower, manager)[number % 2]
            cuttings.append(
                cut_colony(
                    colony.pk, pieces=6, lost=number % 3, lot=number % 2 == 1, by=by,
                    rack=racks[number % 2], medium=("plug", "disc")[number % 2],
                    despite_rest="test",
                )
            )  # fmt: skip
    for cutting in cuttings:
        for frag in cutting.frags.all():
            with clock.at(START + timedelta(days=chance.randint(40, 88))):
                if chance.random() < 0.7:
                    pieces = chance.randint(1, frag.pieces)
                    cause = chance.choice(list(CAUSES))
                    loss = record_loss(frag.pk, pieces=pieces, cause=cause, by=grower)
                    if chance.random() < 0.2:
                        undo_loss(loss.pk, by=grower)
    with clock.at(START + timedelta(days=90)):
        yield cuttings


@pytest.mark.parametrize("way", list(Way))
def test_every_way_of_counting_adds_up_to_the_losses(lives: list[Cutting], way: Way) -> None:
    report = loss_report(way, first=START.date(), last=END)
    standing = Loss.objects.filter(undone=False).aggregate(n=Sum("pieces"))["n"]
    assert report.lost == sum(row.lost for row in report.rows) == standing > 0
    assert report.bench == sum(cutting.lost for cutting in lives) == 6
    assert sum(row.bench for row in report.rows) == (6 if report.tells_bench else 0)
    assert [row[:2] for row in report_rows(report)][-1] == ["Total", report.lost]
    assert len(report.rows) == len({row.name for row in report.rows})


def test_the_month_says_the_same(lives: list[Cutting]) -> None:
    for month in (202609, 202610, 202611):
        first, last = month_bounds(month)
        report = loss_report(Way.CAUSE, first=first, last=last)
        frags = month_figures(month).frags
        assert (report.lost, report.bench) == (frags.lost, frags.lost_at_bench)


def test_names_are_those_that_people_know(lives: list[Cutting]) -> None:
    names = {
        way: {row.name for row in loss_report(way, first=START.date(), last=END).rows}
        for way in Way
    }
    assert names[Way.CAUSE] <= set(CAUSES.values())
    assert names[Way.MEDIUM] == {"Plug", "Disc"}
    assert names[Way.TOOL] == {"Not written down"}
    assert names[Way.CUTTER] == {"Test grower", "Test manager"}
    assert names[Way.TROUGH] == {"Display, A", "No known place"}
    assert all(name.startswith("Harbour Lantern") for name in names[Way.COLONY])


def test_rows_of_one_name_are_one(grower: Person) -> None:
    rows = merged([("Ada", 2), ("Ada", 3)], [("Ada", 1, 9), ("Bo", 0, 4)])
    assert rows == [LossRow("Ada", 5, 1, 9)]
    bars = draw_bars(rows)
    assert (bars.bars[0].width, bars.bars[0].bench, bars.height) == (500, 100, 56)
    assert draw_bars([]).height == 0


def frag_lives(day: date) -> list[tuple[int, bool, int]]:
    """Follow every piece from the losses and claims alone, without the query's sums."""
    told: list[tuple[int, bool, int]] = []
    for frag in Frag.objects.all():
        for loss in frag.losses.filter(undone=False):
            told.append(((loss.day - frag.cut_on).days, True, loss.pieces))
        for claim in Claim.objects.filter(frag=frag, kind="sale"):
            age = (claim.made_at.date() - frag.cut_on).days
            told.append((age, False, claim.pieces - claim.back))
        if frag.pieces:
            told.append(((day - frag.cut_on).days, False, frag.pieces))
    return [one for one in told if one[2]]


def test_survival_out_of_real_lives(lives: list[Cutting], grower: Person) -> None:
    living = Frag.objects.filter(pieces__gte=1).order_by("pk")
    sold = list(living[:3])
    grade_frags([frag.pk for frag in sold], size="M", by=grower)
    claims = [take_for_sale(frag.pk, pieces=1, by=grower) for frag in sold]
    take_back(claims[0].pk, pieces=1, alive=False, by=grower)
    Claim.objects.filter(pk=claims[0].pk).update(back=0)
    found = survival_of(Cohort(START.date(), END))
    assert found.curve.steps == kaplan_meier(ages_of(frag_lives(today()))).steps
    assert found.curve.begun == sum(cutting.pieces for cutting in lives)
    assert found.bench == 6
    last = found.curve.risk[found.curve.last]
    assert last >= 1


def test_what_came_back_alive_is_followed_again(grower: Person) -> None:
    with clock.at(START):
        cutting = cut_colony(make_colony(grower).pk, pieces=4, by=grower)
        frags = list(cutting.frags.order_by("pk"))
        grade_frags([frag.pk for frag in frags], size="M", by=grower)
    with clock.at(START + timedelta(days=10)):
        claim = take_for_sale(frags[0].pk, pieces=1, by=grower)
    with clock.at(START + timedelta(days=20)):
        record_loss(frags[1].pk, pieces=1, cause="rtn", by=grower)
        take_back(claim.pk, pieces=1, alive=True, by=grower)
    with clock.at(START + timedelta(days=30)):
        record_loss(frags[0].pk, pieces=1, cause="rtn", by=grower)
        curve = survival_of(Cohort(START.date(), END)).curve
    assert [(step.age, step.at_risk, step.lost) for step in curve.steps] == [(20, 4, 1), (30, 3, 1)]
    assert curve.steps[-1].survival == Fraction(1, 2)
    assert curve.median == 30


def test_a_loss_of_a_day_before_its_piece_came_back_breaks_no_curve(grower: Person) -> None:
    with clock.at(START):
        cutting = cut_colony(make_colony(grower).pk, pieces=2, lot=True, by=grower)
        lot = cutting.frags.get()
        grade_frags([lot.pk], size="M", by=grower)
    with clock.at(START + timedelta(days=10)):
        claim = take_for_sale(lot.pk, pieces=2, by=grower)
    with clock.at(START + timedelta(days=20)):
        take_back(claim.pk, pieces=1, alive=True, by=grower)
        # Nothing of ours writes it down for this day any more.
        moment = when((START + timedelta(days=15)).date())
        record_loss(lot.pk, pieces=1, cause="rtn", by=grower, moment=moment)
        curve = survival_of(Cohort(START.date(), END)).curve
    assert [(step.age, step.at_risk, step.lost) for step in curve.steps] == [(20, 1, 1)]


def test_what_is_cut_again_is_followed_at_its_own_age(grower: Person) -> None:
    """What was cut off on a later day is of no cutting, and its death of no curve."""
    with clock.at(START):
        cutting = cut_colony(make_colony(grower).pk, pieces=4, by=grower)
        first, second = cutting.frags.order_by("pk")[:2]
        (same_day,) = recut_frag(first.pk, into=2, by=grower)
    with clock.at(START + timedelta(days=10)):
        later, _ = recut_frag(second.pk, into=3, by=grower)
    with clock.at(START + timedelta(days=15)):
        record_loss(later.pk, pieces=1, cause="rtn", by=grower)
        record_loss(same_day.pk, pieces=1, cause="rtn", by=grower)
    with clock.at(START + timedelta(days=20)):
        record_loss(second.pk, pieces=1, cause="rtn", by=grower)
        found = survival_of(Cohort(START.date(), END))
    steps = [(step.age, step.at_risk, step.lost) for step in found.curve.steps]
    assert steps == [(15, 5, 1), (20, 4, 1)]
    assert (found.curve.begun, found.living) == (4, 3)


def test_cohorts_by_what_they_are_and_how_they_were_cut(lives: list[Cutting]) -> None:
    colony = lives[0].colony
    span = START.date(), END

    def begun(**asked: object) -> int:
        return survival_of(Cohort(*span, **asked)).curve.begun  # type: ignore[arg-type]

    assert begun() == 36
    assert begun(colony=colony) == begun(variety=colony.variety) == 12
    assert begun(medium="disc") == 18
    assert begun(tool="saw") == 0
    assert begun(group=colony.variety.group) == 36
    assert survival_of(Cohort(START.date(), START.date())).curve.begun == 6


def test_the_picture_steps_down_within_its_frame(lives: list[Cutting]) -> None:
    curve = survival_of(Cohort(START.date(), END)).curve
    picture = draw_curve(curve)
    assert picture.line.startswith("M64 14H")
    assert picture.line.count("V") == len(curve.steps)
    assert picture.ticks[0].at_risk == 36
    assert all(64 <= tick.x <= 576 for tick in picture.ticks)
    assert [age_step(last) for last in (0, 5, 6, 80, 365, 900)] == [1, 1, 2, 20, 100, 200]


@pytest.mark.parametrize("role", list(Role))
def test_who_may_compare_tools_and_people(
    client_for: ClientFor, lives: list[Cutting], role: Role
) -> None:
    client = client_for(role)
    page = client.get("/reports/losses")
    assert page.status_code == 200
    allowed = role in {Role.MANAGER, Role.OWNER}
    assert ("Cut by" in words_on(page)) == allowed
    for way in ("tool", "medium", "cutter"):
        for ending in ("", ".csv", ".xlsx"):
            answer = client.get(f"/reports/losses{ending}", {"by": way})
            assert answer.status_code == (200 if allowed else 403)
    survival = client.get("/reports/losses/survival", {"medium": "plug"})
    assert ("Glued to" in words_on(survival)) == allowed
    assert ("18 pieces" in words_on(survival)) == allowed


def test_over_http(client_for: ClientFor, lives: list[Cutting]) -> None:
    client = client_for(Role.GROWER)
    report = loss_report(Way.VARIETY, first=START.date(), last=today())
    asked = {"by": "variety", "first": "2026-09-01", "last": today().isoformat()}
    page = client.get("/reports/losses", asked)
    assert f"{report.lost} pieces lost in the troughs" in words_on(page)
    assert report.rows[0].name in words_on(page)
    table = b"".join(client.get("/reports/losses.csv", asked).streaming_content).decode()  # type: ignore[attr-defined]
    assert table.splitlines()[-1] == f"Total,{report.lost},6"
    assert client.get("/reports/losses", {"by": "moon"}).status_code == 400
    wrong = client.get("/reports/losses", {"first": "2026-11-20", "last": "2026-11-01"})
    assert wrong.status_code == 400
    assert "before it begins" in words_on(wrong)
    page = client.get("/reports/losses/survival")
    assert "36 pieces" in words_on(page)
    table = b"".join(client.get("/reports/losses/survival.csv").streaming_content).decode()  # type: ignore[attr-defined]
    assert table.splitlines()[0] == "age_days,at_risk,lost,alive,low_95,high_95"
    wrong = client.get("/reports/losses/survival", {"colony": "7K3-Q9F-3"})
    assert wrong.status_code == 400
    assert (
        client.get("/reports/losses/survival", {"colony": lives[0].colony.code_id}).status_code
        == 200
    )
    none = client.get("/reports/losses/survival", {"first": "2020-01-01", "last": "2020-02-01"})
    assert "Nothing of that was cut" in words_on(none)
    none = client.get("/reports/losses", {"first": "2020-01-01", "last": "2020-02-01"})
    assert "Nothing was lost in this period" in words_on(none)
    assert client_for(None).get("/reports/losses").status_code == 302


def test_as_many_questions_however_much_was_lost(
    client_for: ClientFor,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.MANAGER)
    for count in (2, 20):
        cutting = cut_colony(make_colony(grower).pk, pieces=count, by=grower)
        for frag in cutting.frags.all()[: count // 2]:
            record_loss(frag.pk, pieces=1, cause="rtn", by=grower)
        for way in Way:
            with django_assert_max_num_queries(7):
                client.get("/reports/losses", {"by": way.value})
        with django_assert_max_num_queries(10):
            client.get("/reports/losses/survival")
