"""Coming in and going out."""

from collections.abc import Callable

import pytest
from django.test import Client

from fraginv.base.models import Organisation, Person
from fraginv.base.rules.roles import Role
from tests.browsing import PASSWORD
from tests.conftest import People

ClientFor = Callable[[Role | None], Client]
GROWER = {"username": "grower", "password": PASSWORD}


@pytest.fixture
def visitor(people: People) -> Client:
    return Client()


def test_name_and_password_open_the_door(visitor: Client) -> None:
    answer = visitor.post("/sign-in", GROWER)
    assert (answer.status_code, answer["Location"]) == (303, "/")
    assert visitor.get("/").status_code == 200


def test_a_phones_capital_letter_does_no_harm(visitor: Client) -> None:
    assert visitor.post("/sign-in", GROWER | {"username": " Grower"}).status_code == 303


@pytest.mark.parametrize(
    "sent",
    [
        {"username": "grower", "password": "wrong"},
        {"username": "nobody", "password": PASSWORD},
        {"username": "grower", "password": PASSWORD + " "},
    ],
    ids=["password", "name", "space"],
)
def test_what_does_not_go_together_says_so_and_no_more(
    visitor: Client, sent: dict[str, str]
) -> None:
    answer = visitor.post("/sign-in", sent)
    assert answer.status_code == 400
    assert "That name and password do not go together" in answer.content.decode()
    assert PASSWORD not in answer.content.decode()
    assert visitor.get("/").status_code == 302


def test_who_has_left_cannot_come_in_and_who_is_in_is_put_out(
    visitor: Client, client_for: ClientFor
) -> None:
    inside = client_for(Role.GROWER)
    Person.objects.filter(username="grower").update(is_active=False)
    assert visitor.post("/sign-in", GROWER).status_code == 400
    assert inside.get("/").status_code == 302


@pytest.mark.parametrize(
    ("wanted", "goes"),
    [
        ("/frags?stage=ready", "/frags?stage=ready"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("/\\elsewhere.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/" + "x" * 300, "/"),
    ],
)
def test_the_way_on_stays_in_the_house(visitor: Client, wanted: str, goes: str) -> None:
    answer = visitor.post("/sign-in", GROWER | {"next": wanted})
    assert answer["Location"] == goes


def test_a_page_that_was_wanted_comes_after_signing_in(visitor: Client) -> None:
    away = visitor.get("/frags?stage=ready")
    assert away["Location"] == "/sign-in?next=%2Ffrags%3Fstage%3Dready"
    page = visitor.get(away["Location"])
    assert 'name="next" value="/frags?stage=ready"' in page.content.decode()


def test_one_tap_is_for_the_demo_alone(visitor: Client) -> None:
    refused = visitor.post("/sign-in", {"demo": "owner"})
    assert refused.status_code == 400
    assert visitor.get("/").status_code == 302
    assert "Test owner" not in visitor.get("/sign-in").content.decode()
    Organisation.objects.update(is_demo=True)
    assert "Test owner" in visitor.get("/sign-in").content.decode()
    assert visitor.post("/sign-in", {"demo": "nobody"}).status_code == 400
    answer = visitor.post("/sign-in", {"demo": "owner", "next": "/frags"})
    assert (answer.status_code, answer["Location"]) == (303, "/frags")
    assert visitor.get("/").status_code == 200


def test_the_demos_people_who_left_are_not_offered(visitor: Client) -> None:
    Organisation.objects.update(is_demo=True)
    Person.objects.filter(username="owner").update(is_active=False)
    assert "Test owner" not in visitor.get("/sign-in").content.decode()
    assert visitor.post("/sign-in", {"demo": "owner"}).status_code == 400


@pytest.mark.django_db
def test_before_the_first_run_the_page_says_what_to_do() -> None:
    answer = Client().get("/sign-in")
    assert answer.status_code == 503
    assert "manage.py start" in answer.content.decode()


def test_a_new_visit_gets_a_new_session(visitor: Client) -> None:
    visitor.get("/sign-in")
    visitor.post("/sign-in", GROWER)
    first = visitor.session.session_key
    visitor.post("/sign-out")
    visitor.post("/sign-in", GROWER)
    assert visitor.session.session_key != first
