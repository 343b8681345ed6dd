"""The pages of upkeep: how the house stands, and what waits."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django_tasks_db.models import DBTaskResult
from playwright.sync_api import Page

from fraginv.base import clock
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.roles import Role
from fraginv.base.tasks import run_later
from fraginv.front.working import Worker
from fraginv.upkeep.actions.beats import beat
from fraginv.upkeep.actions.checkups import record_checkup
from fraginv.upkeep.actions.tasks import take_task
from fraginv.upkeep.models import Backup
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.reading import words_on
from tests.upkeep.tried import fail, fail_in_words, write_party

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
ClientFor = Callable[[Role | None], Client]


def fill_house(failed: int = 1) -> None:
    """Let work fail, work wait, and backups be good and bad."""
    for _ in range(failed):
        run_later(fail)
    run_later(fail_in_words)
    worker = Worker()
    while (row := take_task(worker.name)) is not None:
        worker.do(row)
    run_later(write_party, name="Later", pause=timedelta(hours=1))
    beat(worker.name, host="plant-room", started_at=clock.now())
    facts: dict[str, Any] = {"how": Backup.How.NIGHT, "size_bytes": 3_400_000}
    at = clock.now()
    Backup.objects.create(at=at, file="/var/lib/fraginv/backups/good.zip", copied=True, **facts)
    Backup.objects.create(
        at=at - timedelta(days=1), file="bad.zip", problem="There is no room on the disk.", **facts
    )
    record_checkup([Difference("frag 7K3-Q9F-N", "has 2 pieces, its events say 3")])


@pytest.mark.parametrize("role", [*Role, None])
@pytest.mark.parametrize("path", ["/upkeep/", "/upkeep/tasks"])
def test_who_may_look(people: People, client_for: ClientFor, role: Role | None, path: str) -> None:
    may = role in {Role.MANAGER, Role.OWNER}
    expected = 200 if may else 302 if role is None else 403
    assert client_for(role).get(path).status_code == expected


def test_an_empty_house_says_what_to_expect(people: People, client_for: ClientFor) -> None:
    client = client_for(Role.OWNER)
    assert "Nothing waits" in words_on(client.get("/upkeep/tasks"))
    words = words_on(client.get("/upkeep/"))
    assert "No backup was made yet" in words
    assert "Worker: none" in words


def test_what_is_wrong_is_said_with_what_to_do(people: People, client_for: ClientFor) -> None:
    fill_house()
    words = words_on(client_for(Role.OWNER).get("/upkeep/"))
    assert "Worker: works" in words
    assert "Failed work: 1" in words
    assert "There is no room on the disk." in words
    assert "has 2 pieces, its events say 3" in words


def test_statements_do_not_grow(
    people: People, client_for: ClientFor, django_assert_max_num_queries: Any
) -> None:
    fill_house(failed=10)
    client = client_for(Role.OWNER)
    client.get("/upkeep/")
    with django_assert_max_num_queries(11):
        client.get("/upkeep/")
    with django_assert_max_num_queries(4):
        client.get("/upkeep/tasks")


def failed_task() -> DBTaskResult[..., Any]:
    return DBTaskResult.objects.get(status="FAILED")


@pytest.mark.parametrize(("deed", "left"), [("again", "READY"), ("away", None)])
def test_deciding_what_becomes_of_it(
    people: People, client_for: ClientFor, deed: str, left: str | None
) -> None:
    fill_house()
    path, form = f"/upkeep/tasks/{failed_task().pk}/{deed}", {"replay_key": str(uuid4())}
    assert client_for(Role.READER).post(path, form).status_code == 403
    client, pk = client_for(Role.MANAGER), failed_task().pk
    for _ in range(2):
        answer = client.post(path, form)
        assert (answer.status_code, answer["Location"]) == (303, "/upkeep/tasks")
    row = DBTaskResult.objects.filter(pk=pk).first()
    assert (row and row.status) == left
    late = client.post(path, {"replay_key": str(uuid4())})
    assert late.status_code == 409
    assert "not waiting for you any more" in words_on(late)


def test_a_backup_is_asked_for_from_the_page(people: People, client_for: ClientFor) -> None:
    form = {"replay_key": str(uuid4())}
    assert client_for(Role.READER).post("/upkeep/back-up", form).status_code == 403
    client = client_for(Role.OWNER)
    assert "none yet" in words_on(client.get("/upkeep/"))
    for _ in range(2):
        assert client.post("/upkeep/back-up", form)["Location"] == "/upkeep/"
    assert [row.task_path.rpartition(".")[2] for row in DBTaskResult.objects.all()] == [
        "nightly_backup"
    ]
    assert "A backup is being made" in words_on(client.get("/upkeep/"))


def test_a_bad_number(people: People, client_for: ClientFor) -> None:
    client = client_for(Role.OWNER)
    assert client.post("/upkeep/tasks/7/again", {}).status_code == 404
    form = {"replay_key": str(uuid4())}
    assert client.post(f"/upkeep/tasks/{uuid4()}/again", form).status_code == 409


def test_today_says_that_something_needs_a_look(people: People, client_for: ClientFor) -> None:
    fill_house()
    assert "Look at the house" in words_on(client_for(Role.OWNER).get("/"))
    assert "Look at the house" not in words_on(client_for(Role.GROWER).get("/"))


def test_on_a_phone(live_page: Page) -> None:
    fill_house()
    sign_in(live_page, Role.OWNER)
    live_page.goto("/upkeep/")
    assert_accessible(live_page)
    assert_fits(live_page)
    live_page.get_by_role("link", name="Waiting work").click()
    live_page.get_by_text("Ida Byrne").first.click()
    assert_accessible(live_page)
    assert_fits(live_page)
    live_page.get_by_role("button", name="Put away").click()
    live_page.wait_for_url("**/upkeep/tasks")
    assert live_page.get_by_role("button", name="Put away").count() == 0
