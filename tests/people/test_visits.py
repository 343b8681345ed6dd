"""How visits begin and end, and what is left of one that has ended."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.sessions.models import Session
from django.test import Client, override_settings

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.phones import set_pin
from fraginv.people.actions.signing import prune_door
from fraginv.people.rules.visits import BY_PIN, CAREFUL, CREW, has_ended, length_of
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.front.running import Visitor
from tests.serving import serving

ClientFor = Callable[[Role | None], Client]
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
ARGON = "django.contrib.auth.hashers.Argon2PasswordHasher"
MINUTE = timedelta(minutes=1)


def sign_in(role: Role) -> Client:
    client = Client()
    client.post("/sign-in", {"username": role.value, "password": PASSWORD})
    return client


@pytest.mark.parametrize("role", list(Role))
def test_a_role_has_its_length(role: Role) -> None:
    careful = role in {Role.MANAGER, Role.OWNER, Role.READER}
    assert length_of(role, by_pin=False) == (CAREFUL if careful else CREW)
    assert CAREFUL.idle < CREW.idle
    assert CAREFUL.whole < CREW.whole
    assert BY_PIN.whole < CREW.whole


def test_a_visit_ends_by_rest_or_by_length() -> None:
    idle, whole = CREW.idle, CREW.whole
    for started, seen, ended in (
        (timedelta(0), timedelta(0), False),
        (idle, idle, False),
        (idle + MINUTE, idle + MINUTE, True),
        (whole, timedelta(0), False),
        (whole + MINUTE, timedelta(0), True),
        (timedelta(days=-1), timedelta(days=-1), False),  # the clock was put back
    ):
        assert has_ended(CREW, started=NOON - started, seen=NOON - seen, at=NOON) is ended


@pytest.mark.parametrize("role", [Role.GROWER, Role.OWNER])
def test_who_rests_too_long_signs_in_again(people: People, role: Role) -> None:
    idle = length_of(role, by_pin=False).idle
    with clock.at(NOON):
        client, other = sign_in(role), sign_in(role)
    with clock.at(NOON + idle - MINUTE):
        assert client.get("/").status_code == 200
    with clock.at(NOON + idle + MINUTE):
        assert (client.get("/").status_code, other.get("/").status_code) == (200, 302)
    with clock.at(NOON):
        assert other.get("/").status_code == 302  # what has ended does not come back


@pytest.mark.parametrize("role", [Role.GROWER, Role.OWNER])
def test_nobody_stays_for_ever(people: People, role: Role) -> None:
    length = length_of(role, by_pin=False)
    at = NOON
    with clock.at(at):
        client = sign_in(role)
    while (at := at + length.idle - MINUTE) <= NOON + length.whole:
        with clock.at(at):
            assert client.get("/").status_code == 200
    with clock.at(NOON + length.whole + MINUTE):
        assert client.get("/").status_code == 302


def test_a_visit_by_pin_lasts_a_shift(people: People) -> None:
    set_pin(people[Role.GROWER], pin="274951")
    with clock.at(NOON):
        client = sign_in(Role.GROWER)
        client.post("/change")
        client.post(f"/change/{people[Role.GROWER].pk}", {"pin": "274951"})
    with clock.at(NOON + BY_PIN.idle - MINUTE):
        assert client.get("/").status_code == 200
    with clock.at(NOON + 2 * BY_PIN.idle):
        assert client.get("/").status_code == 302


def test_a_page_within_five_minutes_writes_nothing(people: People) -> None:
    with clock.at(NOON):
        client = sign_in(Role.GROWER)
        kept = Session.objects.get()
    with clock.at(NOON + 4 * MINUTE):
        client.get("/")
        assert Session.objects.get().session_data == kept.session_data
    with clock.at(NOON + 6 * MINUTE):
        client.get("/")
        assert Session.objects.get().session_data != kept.session_data


def test_a_visit_from_before_this_was_written_down_begins_now(people: People) -> None:
    with clock.at(NOON):
        client = sign_in(Role.GROWER)
        session = client.session
        for name in ("visit_started", "visit_seen"):
            del session[name]
        session.save()
    with clock.at(NOON + timedelta(days=30)):
        assert client.get("/").status_code == 200
    with clock.at(NOON + timedelta(days=31)):
        assert client.get("/").status_code == 302


def test_every_way_in_gives_another_key(people: People) -> None:
    client, keys = Client(), set()
    set_pin(people[Role.GROWER], pin="274951")
    client.get("/sign-in?next=/frags")
    for _ in range(2):
        client.post("/sign-in", {"username": "grower", "password": PASSWORD})
        keys.add(client.session.session_key)
        client.post(f"/change/{people[Role.GROWER].pk}", {"pin": "274951"})
        keys.add(client.session.session_key)
    assert len(keys) == 4
    assert Session.objects.count() == 1


def test_the_night_takes_away_visits_that_have_ended(people: People) -> None:
    sign_in(Role.GROWER)
    sign_in(Role.SELLER)
    old = Session.objects.order_by("pk").first()
    assert old is not None
    Session.objects.filter(pk=old.pk).update(expire_date=datetime.now(UTC) - MINUTE)
    prune_door()
    assert Session.objects.count() == 1


def test_the_database_knows_when_a_rest_is_over(people: People) -> None:
    for role in (Role.GROWER, Role.OWNER):
        Session.objects.all().delete()
        sign_in(role)
        left = Session.objects.get().expire_date - datetime.now(UTC)
        assert abs(left - length_of(role, by_pin=False).idle) < MINUTE


@pytest.mark.django_db(transaction=True)
def test_a_stolen_cookie_is_dead_after_signing_out(people: People) -> None:
    """A real server over HTTP, so that no test client stands between; it hashes in earnest."""
    with override_settings(PASSWORD_HASHERS=[ARGON]):
        people[Role.GROWER].set_password(PASSWORD)
        people[Role.GROWER].save(update_fields=["password"])
        set_pin(people[Role.GROWER], pin="274951")
    with serving(workers=1) as port:
        visitor = Visitor(port)
        for leave in ("/sign-out", "/change"):
            visitor.get("/sign-in")
            assert visitor.post("/sign-in", username="grower", password=PASSWORD) == (303, "/")
            cookie = visitor.cookies["sessionid"]
            assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
            thief = Visitor(port)
            thief.cookies["sessionid"] = cookie.value
            assert thief.get("/")[0] == 200
            assert visitor.post(leave)[0] == 303
            assert thief.get("/")[0] == 302
        grower = people[Role.GROWER].pk
        assert visitor.post(f"/change/{grower}", pin="274951") == (303, "/")
        thief.cookies["sessionid"] = visitor.cookies["sessionid"].value
        assert thief.get("/")[0] == 200
        Person.objects.filter(pk=grower).update(is_active=False)
        assert (thief.get("/")[0], visitor.get("/")[0]) == (302, 302)
