"""The timetable: once each time, after a stop, and when the clock was set back."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from fraginv.base import clock
from fraginv.base.models import Organisation
from fraginv.base.rules.timetable import Daily, Every
from fraginv.front.timetable import JOBS
from fraginv.upkeep.actions.turns import Job, take_turn, take_turns
from fraginv.upkeep.models import Turn
from fraginv.upkeep.queries.tasks import tasks_open
from tests.together import together
from tests.upkeep.tried import fail, write_party

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
DUE = datetime(2026, 11, 26, 8, 10, tzinfo=UTC)  # ten past three in New York, UTC-5
NIGHTLY = Job("nightly", Daily("03:10"), fail)


def turns_at(moment: datetime, *jobs: Job) -> list[str]:
    with clock.at(moment):
        return take_turns(jobs or (NIGHTLY,))


def test_a_job_is_done_when_it_is_due_and_once(organisation: Organisation) -> None:
    assert turns_at(NOON) == []
    assert Turn.objects.get().next_at == DUE
    assert turns_at(DUE - timedelta(seconds=1)) == []
    assert turns_at(DUE) == ["nightly"]
    assert turns_at(DUE) == []
    assert len(tasks_open()) == 1
    turn = Turn.objects.get()
    assert (turn.last_at, turn.next_at) == (DUE, DUE + timedelta(days=1))


def test_after_a_long_stop_it_is_done_once(organisation: Organisation) -> None:
    turns_at(NOON)
    back = DUE + timedelta(days=9, hours=3)
    assert turns_at(back) == ["nightly"]
    assert turns_at(back) == []
    assert Turn.objects.get().next_at == DUE + timedelta(days=10)


def test_a_clock_that_was_ahead_by_a_year_does_not_silence_it(organisation: Organisation) -> None:
    turns_at(NOON + timedelta(days=365))
    assert turns_at(NOON) == []
    assert Turn.objects.get().next_at == DUE


def test_a_clock_set_back_a_day_does_not_silence_it(organisation: Organisation) -> None:
    turns_at(NOON)
    turns_at(DUE)
    assert turns_at(DUE - timedelta(days=1, hours=-1)) == []
    assert Turn.objects.get().next_at == DUE
    assert turns_at(DUE) == ["nightly"], "It may be done twice for one day, which does no harm."


def test_several_jobs_have_turns_of_their_own(organisation: Organisation) -> None:
    often = Job("often", Every(5), write_party)
    turns_at(NOON, NIGHTLY, often)
    assert turns_at(NOON + timedelta(minutes=5), NIGHTLY, often) == ["often"]


@pytest.mark.django_db(transaction=True)
def test_of_several_workers_one_takes_the_turn(organisation: Organisation) -> None:
    turns_at(NOON)
    turn = Turn.objects.get()

    def take(_: int) -> bool:
        with clock.at(DUE):
            return take_turn(NIGHTLY, turn=turn, zone=organisation.zone)

    assert sorted(map(bool, together(take, on=range(6)))) == [False] * 5 + [True]
    assert len(tasks_open()) == 1, connection.vendor


def test_the_house_has_its_table() -> None:
    names = ["nightly backup", "nightly verify", "nightly growth", "nightly clearing"]
    names += ["nightly prints"]
    assert [job.name for job in JOBS] == names
    assert len({job.task.module_path for job in JOBS}) == len(JOBS)
