"""Whether the house is well, for strangers in a word and for who sees to it in full."""

import os
from collections import namedtuple
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.roles import Role
from fraginv.base.tasks import run_later
from fraginv.front.working import Worker
from fraginv.upkeep.actions.beats import beat, end_beats
from fraginv.upkeep.actions.checkups import record_checkup
from fraginv.upkeep.actions.tasks import take_task
from fraginv.upkeep.models import Backup, Beat, Checkup
from fraginv.upkeep.queries import health
from fraginv.upkeep.queries.health import findings, grave_findings, in_words, not_well
from tests.conftest import People
from tests.factories import make_frags
from tests.upkeep.tried import fail

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
ClientFor = Callable[[Role | None], Client]
Usage = namedtuple("Usage", "total used free")
Mount = namedtuple("Mount", "f_flag")
pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def well(people: People) -> None:
    """A worker that works, and a good backup of last night."""
    Person.objects.update(since=NOON - timedelta(days=100))
    beat("worker", host="plant-room", started_at=NOON)
    make_backup(NOON - timedelta(hours=9))


def make_backup(at: datetime, *, problem: str = "") -> Backup:
    return Backup.objects.create(at=at, how=Backup.How.NIGHT, file="x.zip", problem=problem)


def names_not_well() -> list[str]:
    return [finding.name for finding in not_well()]


def test_a_stranger_hears_one_word(well: None, client_for: ClientFor) -> None:
    answer = client_for(None).get("/healthz")
    assert (answer.status_code, answer.json()) == (200, {"status": "ok"})
    assert not answer.cookies
    with clock.at(NOON + timedelta(minutes=4)):
        answer = client_for(None).get("/healthz")
    assert (answer.status_code, answer.json()) == (503, {"status": "failing"})


@pytest.mark.parametrize("role", list(Role))
def test_who_sees_to_the_house_hears_more(well: None, client_for: ClientFor, role: Role) -> None:
    said = client_for(role).get("/healthz").json()
    assert ("found" in said) is (role in {Role.MANAGER, Role.OWNER})


def test_it_asks_little(well: None, client: Client, django_assert_num_queries: object) -> None:
    client.get("/healthz")
    with django_assert_num_queries(2):  # type: ignore[operator] # organisation, what was seen
        client.get("/healthz")


def test_a_silent_worker(well: None) -> None:
    assert names_not_well() == []
    with clock.at(NOON + timedelta(minutes=3, seconds=1)):
        assert names_not_well() == ["Worker"]
    end_beats("worker")
    assert Beat.objects.count() == 0
    assert names_not_well() == ["Worker"]


def test_a_worker_that_beat_before_the_clock_was_set_back_does_not_live(well: None) -> None:
    with clock.at(NOON - timedelta(days=1)):
        assert "Worker" in names_not_well()
        beat("another", host="plant-room", started_at=NOON)
        assert "Worker" not in names_not_well()


def test_a_database_that_is_away(well: None, client_for: ClientFor) -> None:
    def away(*_: object) -> None:
        raise OperationalError("unable to open database file")

    client = client_for(None)
    client.raise_request_exception = False
    with connection.execute_wrapper(away):
        answer = client.get("/healthz")
        page = client.get("/sign-in")
    assert (answer.status_code, answer.json()) == (503, {"status": "failing"})
    assert "<html" in page.content.decode(), "People read words."


def test_a_disk_that_is_gone_or_closed(
    well: None, settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.FRAGINV_HOME = tmp_path / "gone"
    assert names_not_well() == ["Disk"]
    settings.FRAGINV_HOME = tmp_path
    assert names_not_well() == []
    monkeypatch.setattr("os.statvfs", lambda path: Mount(os.ST_RDONLY))
    monkeypatch.setattr("shutil.disk_usage", lambda path: Usage(10**12, 0, 10**11))
    assert [finding.said for finding in not_well()] == ["cannot be written to"]


def test_today_says_so_for_one_statement(well: None, people: People, client_for: ClientFor) -> None:
    make_frags(people[Role.GROWER], 1)
    counts = {}
    for role in (Role.READER, Role.MANAGER):
        client = client_for(role)
        client.get("/")
        with CaptureQueriesContext(connection) as seen:
            text = client.get("/").content.decode()
        counts[role] = len(seen)
        assert "Look at the house" not in text
    assert counts[Role.MANAGER] - counts[Role.READER] <= 1
    end_beats("worker")
    assert "Look at the house" in client_for(Role.MANAGER).get("/").content.decode()
    assert "Look at the house" not in client_for(Role.READER).get("/").content.decode()


def test_backups(well: None) -> None:
    make_backup(NOON, problem="no room")
    with clock.at(NOON + timedelta(hours=28)):
        assert names_not_well() == ["Worker", "Last good backup"]
    Backup.objects.all().delete()
    assert names_not_well() == ["Last good backup"]
    Person.objects.update(since=NOON - timedelta(hours=35))
    assert names_not_well() == []


def test_what_a_clock_that_was_ahead_wrote_says_nothing(well: None) -> None:
    make_backup(NOON + timedelta(days=400))
    with clock.at(NOON + timedelta(days=400)):
        record_checkup([Difference("frag 7K3-Q9F-N", "is one too many")])
    assert names_not_well() == []
    Backup.objects.filter(at__lt=NOON).delete()
    assert names_not_well() == ["Last good backup"]


def test_a_disk_that_fills_up(well: None, monkeypatch: pytest.MonkeyPatch) -> None:
    for free, found in ((499, ["Disk"]), (501, [])):
        usage = Usage(10**12, 0, free * 1024 * 1024)
        monkeypatch.setattr("shutil.disk_usage", lambda path, usage=usage: usage)
        assert names_not_well() == found


def test_a_database_older_than_the_code(well: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(health, "known", set())
    monkeypatch.setattr(MigrationExecutor, "migration_plan", lambda *_: [("x", False)])
    assert [finding.name for finding in findings() if not finding.ok] == ["Database"]
    assert not all(finding.ok for finding in grave_findings())
    monkeypatch.undo()
    assert all(finding.ok for finding in findings())


def test_failed_work_and_differences_are_told_and_do_not_fail_the_house(
    well: None, client_for: ClientFor
) -> None:
    run_later(fail)
    worker = Worker()
    row = take_task(worker.name)
    assert row is not None
    worker.do(row)
    record_checkup(Difference("frag 7K3-Q9F-N", f"is {n} too many") for n in range(25))
    assert names_not_well() == ["Failed work", "Verify"]
    assert client_for(None).get("/healthz").status_code == 200
    checkup = Checkup.objects.get()
    assert (checkup.count, len(checkup.told)) == (25, 20)


@pytest.mark.parametrize(
    ("age", "words"),
    [
        (timedelta(seconds=59), "less than a minute"),
        (timedelta(seconds=60), "1 minute"),
        (timedelta(minutes=119), "119 minutes"),
        (timedelta(hours=2), "2 hours"),
        (timedelta(hours=47), "47 hours"),
        (timedelta(days=2), "2 days"),
    ],
)
def test_ages(age: timedelta, words: str) -> None:
    assert in_words(age) == words
