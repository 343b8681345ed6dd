"""Many pictures dropped at once, worked off by a real worker while the pages answer."""

import os
import signal
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.front.timetable import JOBS
from fraginv.growth.actions.intake import keep_incoming, open_batch
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.intake import incoming_differences
from fraginv.growth.queries.photos import photo_differences
from fraginv.stock.queries.differences import stock_differences
from fraginv.upkeep.models import Beat, Turn
from tests.conftest import People
from tests.factories import make_colony, make_frags
from tests.front.test_command_work import wait_until, workers
from tests.growth.labelled import labelled

pytestmark = pytest.mark.usefixtures("transactional_db", "organisation")
MANY = 30
BROKEN = {7, 21}


@pytest.fixture(autouse=True)
def _nothing_recurs(organisation: object) -> None:
    for job in JOBS:
        Turn.objects.create(job=job.name, next_at=clock.now() + timedelta(hours=12))


def settled() -> bool:
    return not Incoming.objects.filter(state="waiting").exists()


def agree() -> bool:
    return not [*stock_differences(), *photo_differences(), *incoming_differences()]


def test_thirty_are_worked_off_and_two_broken_ones_refused(
    tmp_path: Path, people: People, client_for: Callable[[Role | None], Client]
) -> None:
    grower, client = people[Role.GROWER], client_for(Role.GROWER)
    frags = make_frags(grower, MANY, colony=make_colony(grower))
    key = uuid4()
    batch = reverse("front:photos_batch", args=[key])
    with workers(1, log=tmp_path / "log"):
        for at, frag in enumerate(frags):
            data = labelled(frag.code_id, seed=at)
            part = data[: len(data) // 2] if at in BROKEN else data
            sent = client.post(
                reverse("front:photos_send"),
                {
                    "key": key,
                    "replay_key": uuid4(),
                    "pictures": SimpleUploadedFile(f"{at}.jpg", part),
                },
            )
            assert sent.status_code == 303
            assert client.get(batch).status_code == 200
        wait_until(settled)
    states = dict(Incoming.objects.values_list("name", "state"))
    assert len(states) == MANY
    assert {name for name, state in states.items() if state == "refused"} == {
        f"{at}.jpg" for at in BROKEN
    }
    assert Photo.objects.count() == MANY - len(BROKEN)
    filed = set(Photo.objects.values_list("frag_id", flat=True))
    assert filed == {frag.pk for at, frag in enumerate(frags) if at not in BROKEN}
    assert not DBTaskResult.objects.exclude(status="SUCCESSFUL").exists()
    assert agree()


def test_a_worker_that_is_killed_leaves_the_picture_waiting(tmp_path: Path, people: People) -> None:
    grower: Person = people[Role.GROWER]
    batch = open_batch(uuid4(), by=grower)
    frags = make_frags(grower, 6, colony=make_colony(grower))
    for at, frag in enumerate(frags):
        data = labelled(frag.code_id, seed=at, size=(4000, 3000))
        keep_incoming(data, name=f"{at}.jpg", batch=batch)
    with workers(1, log=tmp_path / "log") as (first,):
        wait_until(lambda: DBTaskResult.objects.filter(status="RUNNING").exists())
        time.sleep(0.2)
        os.kill(first.pid, signal.SIGKILL)
        first.wait(timeout=30)
    assert not settled()
    silent = clock.now() - timedelta(minutes=4)
    Beat.objects.update(beat_at=silent)
    DBTaskResult.objects.filter(status="RUNNING").update(started_at=silent)

    def done() -> bool:
        DBTaskResult.objects.filter(status="READY").update(run_after=clock.now())
        return settled()

    with workers(1, log=tmp_path / "log"):
        wait_until(done)
    assert set(Incoming.objects.values_list("state", flat=True)) == {"filed"}
    assert Photo.objects.count() == len(frags)
    assert agree()
