"""Real workers at the tests' database: one run for three of them, and a kill that loses nothing."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.models import Organisation, Party
from fraginv.base.tasks import run_later
from fraginv.front.timetable import JOBS
from fraginv.upkeep.models import Beat, Checkup, Turn
from tests.serving import database_url
from tests.upkeep.tried import write_party, write_slowly

SECONDS = 30
pytestmark = pytest.mark.usefixtures("transactional_db", "organisation")


def far() -> datetime:
    """Return a moment that does not come while the test runs."""
    return clock.now() + timedelta(hours=12)


@contextmanager
def workers(count: int, *, log: Path) -> Iterator[list["subprocess.Popen[bytes]"]]:
    """Run so many workers; those that still live end in good order."""
    environment = os.environ | {
        "FRAGINV_HOME": str(settings.FRAGINV_HOME),
        "DATABASE_URL": database_url(),
        "PYTHONPATH": str(settings.BASE_DIR),
    }
    with log.open("ab") as output:
        running = [
            subprocess.Popen(
                [sys.executable, "manage.py", "work"],
                cwd=settings.BASE_DIR,
                env=environment,
                stdout=output,
                stderr=output,
            )
            for _ in range(count)
        ]
    try:
        yield running
    finally:
        for worker in running:
            worker.send_signal(signal.SIGTERM)
        ended = [worker.wait(timeout=SECONDS) for worker in running]
    assert set(ended) <= {0, -signal.SIGKILL}


def wait_until(so: Callable[[], bool]) -> None:
    """Look again and again until it is so, or fail."""
    until = time.monotonic() + SECONDS
    while not so():
        assert time.monotonic() < until, "It did not come."
        time.sleep(0.1)


def test_three_workers_do_each_thing_once(tmp_path: Path) -> None:
    long_ago = clock.now() - timedelta(days=3)
    for job in JOBS:
        Turn.objects.create(job=job.name, next_at=long_ago if "verify" in job.name else far())
    for number in range(12):
        run_later(write_party, name=f"Party {number}")
    with workers(3, log=tmp_path / "log"):
        wait_until(lambda: not DBTaskResult.objects.exclude(status="SUCCESSFUL").exists())
        wait_until(lambda: Checkup.objects.exists())
        wait_until(lambda: Beat.objects.count() == 3)
    names = sorted(Party.objects.values_list("name", flat=True))
    assert names == sorted(f"Party {number}" for number in range(12))
    assert Checkup.objects.count() == 1
    assert DBTaskResult.objects.count() == 13
    assert Beat.objects.count() == 0, "They ended in good order."


def test_a_worker_that_is_killed_loses_nothing(tmp_path: Path, organisation: Organisation) -> None:
    for job in JOBS:
        Turn.objects.create(job=job.name, next_at=far())
    run_later(write_slowly, name="Slowly")
    with workers(1, log=tmp_path / "log") as (first,):
        wait_until(lambda: DBTaskResult.objects.filter(status="RUNNING").exists())
        first.kill()
        first.wait(timeout=SECONDS)
    assert Party.objects.count() == 0
    silent = clock.now() - timedelta(minutes=4)
    Beat.objects.update(beat_at=silent)
    DBTaskResult.objects.update(started_at=silent)
    with workers(1, log=tmp_path / "log"):
        wait_until(lambda: DBTaskResult.objects.filter(status="READY").exists())
        row = DBTaskResult.objects.get()
        assert "stopped without a word" in row.traceback
        DBTaskResult.objects.update(run_after=clock.now())
        wait_until(lambda: DBTaskResult.objects.filter(status="SUCCESSFUL").exists())
    assert Party.objects.get().name == "Slowly"
