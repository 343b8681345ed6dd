"""The way out for the only owner who forgot the password."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from fraginv.base.models import Person
from fraginv.people.models import Invitation
from tests.conftest import People


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
