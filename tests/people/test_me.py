"""One's own page: what one may do, another password, and leaving everywhere."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.models import Person
from fraginv.base.rules.roles import RIGHT_TEXTS, RIGHTS, Role
from fraginv.people.actions.invitations import offer_reset
from fraginv.people.models import CrewEvent, Invitation
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
NEW = "kettle violin moss"


def sent(**changes: str) -> dict[str, str]:
    """Return the form for another password."""
    return {"present": PASSWORD, "password": NEW, "replay_key": str(uuid4())} | changes


@pytest.mark.parametrize("role", Role)
def test_everybody_reads_what_their_role_may(client_for: ClientFor, role: Role) -> None:
    page = words_on(client_for(role).get("/me"))
    assert f"Test {role.value}" in page
    for right, text in RIGHT_TEXTS.items():
        assert (text in page) is (right in RIGHTS[role])


def test_ones_name_leads_to_ones_page(client_for: ClientFor) -> None:
    page = client_for(Role.READER).get("/").content.decode()
    assert 'href="/me"' in page
    assert 'href="/people/"' not in page
    assert 'href="/people/"' in client_for(Role.OWNER).get("/").content.decode()


def test_another_password_ends_all_other_visits(client_for: ClientFor, people: People) -> None:
    here, there = client_for(Role.GROWER), client_for(Role.GROWER)
    key = here.session.session_key
    offer_reset(people[Role.GROWER].pk, by=people[Role.OWNER])
    answer = here.post("/me/password", sent(), follow=True)
    assert "Your password is changed" in words_on(answer)
    assert here.session.session_key != key
    assert (here.get("/").status_code, there.get("/").status_code) == (200, 302)
    assert Person.objects.get(username="grower").check_password(NEW)
    assert Invitation.objects.get().withdrawn_at is not None
    assert CrewEvent.objects.latest("pk").by == people[Role.GROWER]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"present": "wrong-lamp-water-9"}, "not your present password"),
        ({"present": ""}, "This field is required"),
        ({"password": ""}, "This field is required"),
        ({"password": PASSWORD}, "the password that you have"),
        ({"password": "short"}, "too short"),
        ({"password": "test grower 12"}, "a name"),
    ],
)
def test_what_will_not_do_changes_nothing(
    client_for: ClientFor, changes: dict[str, str], said: str
) -> None:
    here, there = client_for(Role.GROWER), client_for(Role.GROWER)
    answer = here.post("/me/password", sent(**changes))
    assert answer.status_code == 400
    assert said in words_on(answer)
    assert NEW not in answer.content.decode()
    assert (here.get("/").status_code, there.get("/").status_code) == (200, 200)
    assert Person.objects.get(username="grower").check_password(PASSWORD)


def test_whoever_finds_a_phone_cannot_try_passwords_for_ever(client_for: ClientFor) -> None:
    here = client_for(Role.GROWER)
    for _ in range(20):
        here.post("/me/password", sent(present="wrong-lamp-water-9"))
    here.post("/me/password", sent())
    assert Person.objects.get(username="grower").check_password(PASSWORD)


def test_leaving_everywhere_ends_this_visit_too(client_for: ClientFor) -> None:
    here, there, other = (
        client_for(Role.GROWER),
        client_for(Role.GROWER),
        client_for(Role.SELLER),
    )
    assert here.get("/me/leave").status_code == 403
    answer = here.post("/me/leave", {"replay_key": str(uuid4())}, follow=True)
    assert "signed out on every phone and computer" in words_on(answer)
    assert [one.get("/").status_code for one in (here, there, other)] == [302, 302, 200]


def test_strangers_have_no_page_of_their_own(people: People) -> None:
    for path in ("/me", "/me/password"):
        assert Client().get(path)["Location"].startswith("/sign-in")
