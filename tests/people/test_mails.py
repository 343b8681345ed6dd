"""Mail about ways in, received by a real server: links, and word of a new password."""

import re
from collections.abc import Iterator
from email.message import EmailMessage
from email.message import Message as EmailBase
from uuid import uuid4

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Message
from django.test import Client
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.invitations import invite, offer_reset, withdraw
from fraginv.people.actions.mailing import mail_changed, mail_link
from fraginv.people.actions.passwords import change_own_password
from fraginv.people.models import Invitation
from fraginv.people.rules.mails import link_mail
from tests.conftest import People
from tests.reading import words_on
from tests.serving import free_port

SITE = "https://reef.example"
NEW = "kettle violin moss"


class Box(Message):
    """Keep what a mail server was sent."""

    def __init__(self) -> None:
        super().__init__(EmailMessage)
        self.got: list[EmailMessage] = []

    def handle_message(self, message: EmailBase) -> None:
        """Keep one mail."""
        assert isinstance(message, EmailMessage)
        self.got.append(message)


@pytest.fixture
def box(settings: Settings) -> Iterator[list[EmailMessage]]:
    """Let mail go to a server of its own, and give what it receives."""
    kept, port = Box(), free_port()
    server = Controller(kept, hostname="127.0.0.1", port=port)
    server.start()
    settings.MAIL_IS_SET = True
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
    settings.DEFAULT_FROM_EMAIL = "fraginv@reef.example"
    yield kept.got
    server.stop()


def work_off() -> int:
    """Do what waits, as a worker does; say how many tasks that were."""
    known = {task.module_path: task for task in (mail_link, mail_changed)}
    rows = list(DBTaskResult.objects.order_by("enqueued_at"))
    for row in rows:
        known[row.task_path].func(**row.args_kwargs["kwargs"])
    DBTaskResult.objects.all().delete()
    return len(rows)


def text_of(mail: EmailMessage) -> str:
    """Return a mail's text, its lines as they were before they travelled."""
    data = mail.get_payload(decode=True)
    assert isinstance(data, bytes)
    return data.decode().replace("\r\n", "\n")


def test_an_invitation_is_mailed(people: People, box: list[EmailMessage]) -> None:
    by = people[Role.OWNER]
    link = invite("Ines Varga", role=Role.READER, email="ines@reef.example", by=by, site=SITE)
    assert link.mailed
    waiting = str(list(DBTaskResult.objects.values()))
    assert link.token not in waiting  # the token waits under a seal
    assert work_off() == 1
    mail = box[0]
    assert (mail["To"], mail["From"]) == ("ines@reef.example", "fraginv@reef.example")
    assert mail["Subject"] == "Come in at Tidewater Hall Aquarium"
    text = text_of(mail)
    assert f"\n{SITE}{link.path}\n" in text
    assert "Test owner invites you to Tidewater Hall Aquarium as reader" in text
    assert "good once, until" in text
    assert Client().get(link.path).status_code == 200


def test_a_reset_is_mailed_and_so_is_that_the_password_changed(
    people: People, box: list[EmailMessage], grower: Person
) -> None:
    Person.objects.filter(pk=grower.pk).update(email="grower@reef.example")
    assert offer_reset(grower.pk, by=people[Role.OWNER], site=SITE).mailed
    work_off()
    change_own_password(grower.pk, password=NEW)
    work_off()
    assert [mail["To"] for mail in box] == ["grower@reef.example"] * 2
    assert "choose a new password" in text_of(box[0])
    assert box[1]["Subject"] == "Your password at Tidewater Hall Aquarium was changed"
    assert "If it was not you, tell an owner today." in text_of(box[1])
    assert NEW not in text_of(box[1])


def test_nothing_is_mailed_without_address_server_or_life(
    people: People, box: list[EmailMessage], settings: Settings
) -> None:
    by, address = people[Role.OWNER], "ines@reef.example"
    assert not invite("Ines", role=Role.READER, email="", by=by, site=SITE).mailed
    assert not invite("Ines", role=Role.READER, email=address, by=by).mailed
    change_own_password(by.pk, password=NEW)  # no address either
    settings.MAIL_IS_SET = False
    assert not invite("Ines", role=Role.READER, email=address, by=by, site=SITE).mailed
    settings.MAIL_IS_SET = True
    dead = invite("Ines", role=Role.READER, email=address, by=by, site=SITE)
    withdraw(dead.invitation.pk, by=by)
    assert work_off() == 1
    assert not box


def test_what_is_taken_back_is_not_mailed(people: People, box: list[EmailMessage]) -> None:
    """The page that made the link names the site; a form that fails leaves no task."""
    client = Client()
    client.force_login(people[Role.OWNER])
    sent = {"name": "Ines", "role": "reader", "email": "nowhere", "replay_key": str(uuid4())}
    assert client.post("/people/invite", sent).status_code == 400
    assert work_off() == 0
    page = client.post("/people/invite", sent | {"email": "ines@reef.example"})
    assert "on its way to ines@reef.example" in words_on(page)
    work_off()
    assert re.search(r"\nhttp://testserver/join/[\w-]{43}\n", text_of(box[0]))


def test_names_cannot_write_headers(people: People, box: list[EmailMessage]) -> None:
    subject, _ = link_mail(
        house="Reef\r\nBcc: all@reef.example",
        name="X",
        by="Y",
        role="reader",
        is_reset=False,
        address=SITE,
        until="now",
    )
    assert subject == "Come in at Reef Bcc: all@reef.example"
    link = invite(
        "X", role=Role.READER, email="x@reef.example", by=people[Role.OWNER], site=SITE
    ).invitation
    Invitation.objects.filter(pk=link.pk).update(name="X\r\nBcc: all@reef.example")
    work_off()
    assert [mail["To"] for mail in box] == ["x@reef.example"]
    assert box[0]["Bcc"] is None
