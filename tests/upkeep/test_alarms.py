"""Errors that the owner is told of: once for each kind and hour, by a real mail server."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email.message import Message

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Message as Keeping
from django.core import mail
from django.test import Client
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.front.nightly import verify
from fraginv.front.working import Worker
from fraginv.stock.models import Frag
from fraginv.upkeep.actions.alarms import alarm, prune_alarms
from fraginv.upkeep.actions.tasks import take_task
from fraginv.upkeep.models import Alarm
from fraginv.upkeep.queries.tasks import tasks_open
from tests.conftest import People
from tests.factories import make_frags
from tests.serving import free_port

NOON = datetime(2026, 11, 25, 17, 5, tzinfo=UTC)
ClientFor = Callable[[Role | None], Client]


class Letters(Keeping):
    """Keep every letter that came in."""

    def __init__(self) -> None:
        super().__init__()
        self.kept: list[Message] = []

    def handle_message(self, message: Message) -> None:
        self.kept.append(message)


@pytest.fixture
def letters(settings: Settings) -> Iterator[Letters]:
    """A mail server on the loopback address, and settings that lead to it."""
    kept, port = Letters(), free_port()
    server = Controller(kept, hostname="127.0.0.1", port=port)
    server.start()
    mail_to(settings, port)
    yield kept
    server.stop()


def mail_to(settings: Settings, port: int) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.MAIL_IS_SET = "127.0.0.1", port, True
    settings.DEFAULT_FROM_EMAIL = "fraginv@reef.example"


@pytest.fixture
def owner(people: People) -> Person:
    """The owner, with an address."""
    found = people[Role.OWNER]
    found.email = "mira@reef.example"
    found.save(update_fields=["email"])
    return found


def work_off(moment: datetime) -> None:
    """Do what is due."""
    worker = Worker()
    with clock.at(moment):
        while (row := take_task(worker.name)) is not None:
            worker.do(row)


def test_one_letter_for_each_kind_and_hour(owner: Person, letters: Letters) -> None:
    with clock.at(NOON):
        for _ in range(3):
            alarm("KeyError", place="stock:cut")
        alarm("KeyError", place="trade:sell")
    work_off(NOON)
    subjects = sorted(str(letter["Subject"]) for letter in letters.kept)
    assert subjects == [
        "[Tidewater Hall Aquarium] KeyError in stock:cut",
        "[Tidewater Hall Aquarium] KeyError in trade:sell",
    ]
    assert {letter["To"] for letter in letters.kept} == {"mira@reef.example"}
    with clock.at(NOON + timedelta(hours=1)):
        alarm("KeyError", place="stock:cut")
    work_off(NOON + timedelta(hours=1))
    assert "Before:  3 times in the hour from 2026-11-25 17:00 UTC" in text_of(letters.kept[-1])


def text_of(letter: Message) -> str:
    payload = letter.get_payload(decode=True)
    assert isinstance(payload, bytes)
    return payload.decode()


def test_the_addresses_that_are_set_come_before_the_owners(
    owner: Person, letters: Letters, settings: Settings
) -> None:
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, alarms=("watch@reef.example",))
    with clock.at(NOON):
        alarm("KeyError", place="stock:cut")
    work_off(NOON)
    assert [letter["To"] for letter in letters.kept] == ["watch@reef.example"]


def test_without_a_mail_server_it_is_written_down_alone(owner: Person) -> None:
    with clock.at(NOON):
        alarm("KeyError", place="stock:cut")
    assert (Alarm.objects.count(), tasks_open(), mail.outbox) == (1, [], [])


def test_nobody_with_an_address(people: People, letters: Letters) -> None:
    with clock.at(NOON):
        alarm("KeyError", place="stock:cut")
    work_off(NOON)
    assert (letters.kept, tasks_open()) == ([], [])


def test_a_dead_server_is_tried_again_and_makes_no_further_alarms(
    owner: Person, settings: Settings
) -> None:
    mail_to(settings, free_port())
    with clock.at(NOON):
        alarm("KeyError", place="stock:cut")
    for hours in range(0, 24, 3):
        work_off(NOON + timedelta(hours=hours))
    (task,) = tasks_open()
    assert (task.state, task.tries) == ("failed", 6)
    assert Alarm.objects.count() == 1


def test_a_page_that_breaks_is_told_without_what_it_was_about(
    owner: Person, browser_for: ClientFor, broken_list: None
) -> None:
    client = browser_for(Role.OWNER)
    assert client.get("/frags?q=Ida").status_code == 500
    assert [one.kind for one in Alarm.objects.all()] == ["KeyError in front:frags"]


def test_the_letter_names_the_request_as_the_log_does(
    owner: Person, browser_for: ClientFor, letters: Letters, broken_list: None
) -> None:
    client = browser_for(Role.OWNER)
    with clock.at(NOON):
        answer = client.get("/frags?q=Ida")
    work_off(NOON)
    (letter,) = letters.kept
    assert f"Request: {answer['X-Request-Id']}" in text_of(letter)
    assert "When:    2026-11-25 17:05 UTC" in text_of(letter)
    assert "Ida" not in letter.as_string()


def test_a_difference_that_verify_finds_is_an_alarm(people: People) -> None:
    with clock.at(NOON):
        verify.call()
        assert Alarm.objects.count() == 0
        frag = make_frags(people[Role.GROWER])[0]
        Frag.objects.filter(pk=frag.pk).update(free=0)
        verify.call()
    assert [one.kind for one in Alarm.objects.all()] == ["differences in verify"]


def test_old_alarms_are_forgotten(owner: Person) -> None:
    with clock.at(NOON):
        alarm("KeyError", place="stock:cut")
    with clock.at(NOON + timedelta(days=31)):
        alarm("KeyError", place="stock:cut")
        assert prune_alarms() == 1
