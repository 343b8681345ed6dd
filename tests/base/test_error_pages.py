"""Pages that say what went wrong keep the ways of whoever reads them."""

from collections.abc import Callable

import pytest
from django.template.loader import render_to_string
from django.test import Client

from fraginv.base.rules.roles import Role
from tests.conftest import People

ClientFor = Callable[[Role | None], Client]
NAVIGATION = 'class="nav-bar"'
FIND = 'id="find"'


@pytest.mark.parametrize(
    ("path", "status"),
    [
        pytest.param("/nowhere", 404, id="no such page"),
        pytest.param("/T/7K3Q9FM", 400, id="wrong code"),
        pytest.param("/labels/", 403, id="no permission"),
    ],
)
def test_the_crew_keeps_its_navigation(
    client_for: ClientFor, people: People, path: str, status: int
) -> None:
    answer = client_for(Role.READER).get(path)
    text = answer.content.decode()
    assert answer.status_code == status
    assert NAVIGATION in text
    assert FIND in text
    assert "Sign out" in text


@pytest.mark.parametrize(("path", "status"), [("/nowhere", 404), ("/T/7K3Q9FM", 400)])
def test_visitors_see_what_is_theirs(
    client_for: ClientFor, people: People, path: str, status: int
) -> None:
    answer = client_for(None).get(path)
    text = answer.content.decode()
    assert answer.status_code == status
    assert NAVIGATION not in text
    assert FIND not in text
    assert "Sign in" in text


def test_what_is_missing_is_said_to_who_reads_it(client_for: ClientFor, people: People) -> None:
    crew = client_for(Role.GROWER).get("/nowhere").content.decode()
    visitor = client_for(None).get("/nowhere").content.decode()
    assert "field on top" in crew
    assert "field on top" not in visitor
    assert "scan the label again" in visitor


def test_a_form_that_is_no_longer_trusted(people: People) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(people[Role.GROWER])
    answer = client.post("/labels/", {"codes": "7K3-Q9F-N"})
    assert answer.status_code == 403


def test_the_page_for_a_slip_of_ours_needs_nothing() -> None:
    text = render_to_string("500.html")
    assert "Something broke on our side" in text
    assert NAVIGATION not in text


def test_a_name_that_is_none_of_ours_is_said_plainly(client: Client) -> None:
    answer = client.get("/sign-in", headers={"host": "192.168.1.20:8000"})
    assert answer.status_code == 400
    assert "FRAGINV_HOST" in answer.content.decode()
    assert "192.168.1.20" not in answer.content.decode()
