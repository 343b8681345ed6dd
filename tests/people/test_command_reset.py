"""The way out for the only owner who forgot the password."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django_otp.plugins.otp_totp.models import TOTPDevice

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.models import CrewEvent, Invitation
from fraginv.people.queries.factors import has_factor
from tests.conftest import People
from tests.reading import words_on


def said(*arguments: str) -> str:
    """Return what the command prints."""
    out = StringIO()
    call_command("reset", *arguments, stdout=out)
    return out.getvalue()


def test_it_prints_a_link_that_works_once(people: People) -> None:
    path = said("owner").splitlines()[-1]
    assert Client().post(path, {"password": "kettle violin moss"}).status_code == 303
    assert Person.objects.get(username="owner").check_password("kettle violin moss")
    assert Client().get(path).status_code == 410


def test_it_answers_programs(people: People) -> None:
    told = json.loads(said("Owner", "--json"))
    assert told["name"] == "Test owner"
    assert Client().get(told["path"]).status_code == 200
    assert told["until"] == Invitation.objects.get().ends_at.isoformat()


def test_it_names_who_there_is(people: People) -> None:
    with pytest.raises(CommandError, match="There are: grower, manager, owner"):
        said("nobody")
    Person.objects.filter(username="seller").update(is_active=False)
    with pytest.raises(CommandError, match="was put out"):
        said("seller")


def test_it_stands_in_nobody_elses_name(people: People) -> None:
    said("grower")
    link, event = Invitation.objects.get(), CrewEvent.objects.get()
    assert {link.by, event.by, event.person} == {people[Role.GROWER]}
    assert event.kind == "machine"
    client = Client()
    client.force_login(people[Role.OWNER])
    assert "made at the machine" in words_on(client.get("/people/"))


def test_it_takes_a_second_step_off_when_asked(people: People) -> None:
    owner = people[Role.OWNER]
    TOTPDevice.objects.create(user=owner, name="phone", confirmed=True)
    said("owner")
    assert has_factor(owner)
    said("owner", "--second-step")
    assert not has_factor(owner)
    assert [event.kind for event in CrewEvent.objects.filter(person=owner)][:2] == [
        "machine", "factor",
    ]  # fmt: skip
