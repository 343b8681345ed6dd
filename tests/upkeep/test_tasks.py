"""Waiting work: written with what asked for it, tried again, and left to people at last."""

import signal
import time
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Organisation, Party
from fraginv.base.tasks import policy_of, run_later
from fraginv.base.transactions import one_transaction
from fraginv.front.working import Steady, Worker
from fraginv.upkeep.actions.beats import beat
from fraginv.upkeep.actions.tasks import (
    give_back,
    give_back_lost,
    hand_back,
    prune_tasks,
    pull_in_tries,
    put_away,
    take_task,
    try_again,
)
from fraginv.upkeep.models import Alarm
from fraginv.upkeep.queries.tasks import tasks_open
from tests.upkeep.tried import fail, fail_in_words, write_party, write_slowly

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
pytestmark = pytest.mark.usefixtures("organisation")


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    with clock.at(NOON):
        yield


def work_off(at: datetime) -> int:
    """Do everything that is due at a moment; return how much that was."""
    worker, done = Worker(), 0
    with clock.at(at):
        while (row := take_task(worker.name)) is not None:
            worker.do(row)
            done += 1
    return done


def test_a_task_exists_exactly_if_its_action_commits(organisation: Organisation) -> None:
    @one_transaction
    def ask(*, well: bool) -> None:
        run_later(write_party, name="Tideline Aquatics")
        if not well:
            raise ValueError("after the task")

    with pytest.raises(ValueError, match="after the task"), transaction.atomic():
        ask(well=False)
    assert tasks_open() == []
    ask(well=True)
    assert [task.title for task in tasks_open()] == ["Write a party down"]
    assert work_off(NOON) == 1
    assert Party.objects.get().name == "Tideline Aquatics"
    assert tasks_open() == []


def test_a_pause_is_kept() -> None:
    run_later(write_party, name="Later", pause=timedelta(minutes=10))
    assert work_off(NOON + timedelta(minutes=9)) == 0
    assert work_off(NOON + timedelta(minutes=10)) == 1


def test_what_fails_is_tried_again_after_a_pause_then_left_to_people() -> None:
    run_later(fail_in_words)
    assert work_off(NOON) == 1
    (task,) = tasks_open()
    assert (task.state, task.tries, task.tries_left) == ("waits to be tried again", 1, 1)
    assert task.problem == "There is no paper in the tray. Put some in."
    assert task.next_at is not None
    assert timedelta(minutes=1) <= task.next_at - NOON <= timedelta(seconds=72)
    assert work_off(NOON + timedelta(seconds=59)) == 0
    assert work_off(NOON + timedelta(minutes=2)) == 1
    (task,) = tasks_open()
    assert (task.state, task.tries, task.tries_left) == ("failed", 2, 0)
    assert work_off(NOON + timedelta(days=1)) == 0


def test_people_try_again_or_put_away() -> None:
    run_later(fail)
    work_off(NOON)
    (task,) = tasks_open()
    assert "KeyError" in task.trace
    try_again(uuid.UUID(task.pk))
    assert [task.state for task in tasks_open()] == ["waits"]
    with pytest.raises(Conflict, match="not waiting for you"):
        put_away(uuid.UUID(task.pk))
    assert work_off(NOON) == 1
    put_away(uuid.UUID(task.pk))
    assert tasks_open() == []
    with pytest.raises(Conflict, match="not waiting for you"):
        try_again(uuid.UUID(task.pk))


def test_a_final_failure_is_an_alarm_without_what_it_was_about() -> None:
    run_later(fail)
    work_off(NOON)
    assert [alarm.kind for alarm in Alarm.objects.all()] == ["KeyError in tests.upkeep.tried.fail"]


def test_a_lost_workers_task_goes_to_another() -> None:
    run_later(write_party, name="Once")
    row = take_task("lost")
    assert row is not None
    beat("lost", host="plant-room", started_at=NOON, doing="Write a party down")
    with clock.at(NOON + timedelta(minutes=2)):
        assert give_back_lost("other") == []
    silent = NOON + timedelta(minutes=4)
    DBTaskResult.objects.update(started_at=NOON)  # the library looks at the machine's clock
    with clock.at(silent):
        assert give_back_lost("other") == [("tests.upkeep.tried.write_party", False)]
    (task,) = tasks_open()
    assert "stopped without a word" in task.problem
    assert work_off(silent + timedelta(minutes=2)) == 1
    assert Party.objects.count() == 1


def test_an_idle_worker_puts_back_what_it_left_when_the_database_went_away() -> None:
    run_later(write_party, name="Once")
    take_task("me")
    beat("me", host="plant-room", started_at=NOON)
    assert give_back_lost("me") == [("tests.upkeep.tried.write_party", False)]


def test_two_workers_never_take_the_same() -> None:
    run_later(write_party, name="One")
    run_later(write_party, name="Two")
    first, second, third = take_task("a"), take_task("b"), take_task("c")
    assert first is not None
    assert second is not None
    assert first.pk != second.pk
    assert third is None


def test_looking_for_work_takes_no_lock(django_assert_num_queries: object) -> None:
    with django_assert_num_queries(1) as seen:  # type: ignore[operator]
        assert take_task("idle") is None
    assert seen.captured_queries[0]["sql"].startswith("SELECT")


def test_a_task_that_is_gone_is_called_by_its_name() -> None:
    policy = policy_of("fraginv.old.actions.send_sheet")
    assert (policy.title, policy.tries) == ("Send sheet", 1)
    run_later(write_party, name="x")
    DBTaskResult.objects.update(task_path="fraginv.nowhere.send_sheet")
    assert work_off(NOON) == 1
    assert [task.state for task in tasks_open()] == ["failed"]


def test_what_was_done_long_ago_is_forgotten() -> None:
    run_later(write_party, name="Old")
    work_off(NOON)
    DBTaskResult.objects.update(finished_at=NOON)
    with clock.at(NOON + timedelta(days=29)):
        assert prune_tasks() == 0
    with clock.at(NOON + timedelta(days=31)):
        assert prune_tasks() == 1


def test_a_clock_set_back_a_day_strands_no_task() -> None:
    run_later(write_party, name="Once")
    take_task("lost")
    beat("lost", host="plant-room", started_at=NOON)
    DBTaskResult.objects.update(started_at=NOON)
    with clock.at(NOON - timedelta(minutes=59)):
        assert give_back_lost("other") == [], "Two machines may differ by that much."
    with clock.at(NOON - timedelta(days=1)):
        assert give_back_lost("other") == [("tests.upkeep.tried.write_party", False)]
    assert work_off(NOON - timedelta(days=1) + timedelta(minutes=2)) == 1
    assert Party.objects.count() == 1


def test_a_clock_set_back_a_year_lets_what_failed_be_tried_soon() -> None:
    run_later(fail_in_words)
    work_off(NOON)
    run_later(write_party, name="Asked for", pause=timedelta(days=300))
    assert pull_in_tries() == 0
    past = NOON - timedelta(days=365)
    with clock.at(past):
        assert pull_in_tries() == 1
    assert work_off(past) == 1
    assert sorted(task.state for task in tasks_open()) == ["failed", "waits"]


@pytest.mark.parametrize(
    ("looks", "steady"),
    [
        ([(0, 0), (20, 20), (40, 40)], True),
        ([(0, 0), (20, 20 + 3600)], False),
        ([(0, 0), (20, 20 - 86400)], False),
        ([(0, 0), (20, 3620), (40, 3640)], False),
        ([(0, 0), (20, 3620), (40, 3640), (61, 3661)], True),
        ([(0, 0), (20, 50)], True),
    ],
    ids=["goes on", "set ahead", "set back", "just before", "a while ago", "a little"],
)
def test_a_clock_that_was_set_is_noticed(looks: list[tuple[int, int]], steady: bool) -> None:
    watch = Steady()
    told = [watch.look(seconds, NOON + timedelta(seconds=shown)) for seconds, shown in looks]
    assert told[-1] is steady


def test_a_task_that_takes_too_long_to_stop_is_broken_off_and_counts_as_no_try() -> None:
    run_later(write_slowly, name="Slowly")
    worker = Worker(grace=0.1)
    row = take_task(worker.name)
    assert row is not None
    before = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    before[signal.SIGALRM] = signal.getsignal(signal.SIGALRM)
    try:
        worker.listen()
        signal.raise_signal(signal.SIGTERM)
        began = time.monotonic()
        worker.do(row)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        for number, handler in before.items():
            signal.signal(number, handler)
    assert time.monotonic() - began < 1.5
    assert Party.objects.count() == 0
    (task,) = tasks_open()
    assert (task.state, task.tries) == ("waits", 0)


def test_nothing_is_broken_off_between_tasks() -> None:
    Worker().break_off()


def test_what_is_done_already_is_given_back_by_nobody() -> None:
    run_later(write_party, name="Once")
    row = take_task("a")
    assert row is not None
    row.set_successful(None)
    assert give_back(row.pk, kind="lost", problem="late") is False
    hand_back(row.pk)
    row.refresh_from_db()
    assert (row.status, row.worker_ids) == ("SUCCESSFUL", ["a"])


def test_a_failed_task_behind_a_hundred_that_wait_is_shown() -> None:
    run_later(fail)
    work_off(NOON)
    for number in range(100):
        run_later(write_party, name=str(number), pause=timedelta(hours=1))
    assert tasks_open()[0].state == "failed"
