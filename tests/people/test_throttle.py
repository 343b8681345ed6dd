"""A thousand wrong passwords lead nowhere, and lock nobody out for long."""

import logging
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.auth import authenticate
from django.contrib.auth.hashers import MD5PasswordHasher
from django.test import Client, RequestFactory, override_settings

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.phones import set_pin
from fraginv.people.actions.throttling import prune_attempts, record_wrong
from fraginv.people.rules.attempts import (
    ADDRESS_LIMIT,
    LOCKED,
    NAME_LIMIT,
    Wrong,
    lock_ends,
    whole_minute,
)
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.people.test_second_step import set_up
from tests.together import together

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)  # 12:00 in New York
PIN = "274951"
HERE, THERE = "192.0.2.7", "198.51.100.9"  # RFC 5737: for documentation


class Counting(MD5PasswordHasher):
    """Count how often a password is worked out."""

    count = 0

    def encode(self, password: str, salt: str) -> str:
        type(self).count += 1
        return super().encode(password, salt)


@pytest.fixture
def hashes() -> Iterator[type[Counting]]:
    Counting.count = 0
    with override_settings(PASSWORD_HASHERS=[f"{__name__}.Counting"]):
        yield Counting


def wrong(name: str = "x", count: int = 1, minutes: float = 0) -> Wrong:
    return Wrong(name, count, NOON - timedelta(minutes=minutes))


def knock(name: str, password: str = "wrong-lamp-9", *, address: str = HERE) -> Any:
    """Send the sign-in form once, from a browser that was never here."""
    sent = {"username": name, "password": password}
    return Client(REMOTE_ADDR=address).post("/sign-in", sent)


@pytest.mark.parametrize(
    ("found", "minutes"),
    [
        ([], None),
        ([wrong(count=9)], None),
        ([wrong(count=10)], 15),
        ([wrong(count=10, minutes=14.5)], 0.5),
        ([wrong(count=10, minutes=15)], None),
        ([wrong("y", 10)], None),
        ([wrong("y", 99), wrong(minutes=3)], 12),
        ([wrong("y", 99, 4), wrong("z", 3, 1)], 11),
        ([wrong("y", 200, 4), wrong("z", 99, 1)], 11),
        ([wrong("y", 50, 4), wrong("z", 200, 1)], 14),
        ([wrong(count=10, minutes=2), wrong("y", 95, 9)], 13),
    ],
)
def test_when_the_door_opens_again(found: list[Wrong], minutes: float | None) -> None:
    ends = lock_ends(found, name="x", at=NOON)
    assert ends == (None if minutes is None else NOON + timedelta(minutes=minutes))


def test_a_moment_is_shown_by_the_next_full_minute() -> None:
    assert whole_minute(NOON) == NOON
    assert whole_minute(NOON + timedelta(seconds=1)) == NOON + timedelta(minutes=1)


def test_ten_wrong_ones_lock_a_name_here_for_a_quarter_of_an_hour(people: People) -> None:
    with clock.at(NOON):
        assert {knock("grower").status_code for _ in range(NAME_LIMIT - 1)} == {400}
        last, right = knock("grower"), knock("grower", PASSWORD)
        assert (last.status_code, right.status_code) == (429, 429)
        assert (
            "too many wrong tries for this name from here. Wait until 12:15"
            in right.content.decode()
        )
        assert knock("grower", PASSWORD, address=THERE).status_code == 303
        assert knock("seller", PASSWORD).status_code == 303
    with clock.at(NOON + timedelta(minutes=14, seconds=59)):
        assert knock("grower", PASSWORD).status_code == 429
    with clock.at(NOON + LOCKED):
        assert knock("grower", PASSWORD).status_code == 303
        assert knock("grower").status_code == 400


def test_a_right_one_between_forgets_the_wrong_ones_of_that_name_alone(people: People) -> None:
    for _ in range(NAME_LIMIT - 1):
        knock("grower"), knock("seller")
    assert knock("grower", PASSWORD).status_code == 303
    assert (knock("grower").status_code, knock("seller").status_code) == (400, 429)


def test_a_pin_forgets_no_wrong_password(people: People) -> None:
    """Who saw somebody type a PIN cannot use it to guess the password for ever."""
    phone, grower = Client(REMOTE_ADDR=HERE), people[Role.GROWER]
    set_pin(grower, pin=PIN)
    phone.post("/sign-in", {"username": "grower", "password": PASSWORD})
    assert {knock("grower").status_code for _ in range(NAME_LIMIT - 1)} == {400}
    assert phone.post(f"/change/{grower.pk}", {"pin": PIN}).status_code == 303
    assert knock("grower").status_code == 429
    assert phone.post(f"/change/{grower.pk}", {"pin": PIN}).status_code == 303  # but it still opens


def test_a_right_password_without_its_second_step_forgets_nothing(manager: Person) -> None:
    set_up(manager)
    for _ in range(NAME_LIMIT - 1):
        knock("manager")
    assert knock("manager", PASSWORD)["Location"] == "/sign-in/code"
    assert knock("manager").status_code == 429


@pytest.mark.django_db(transaction=True)
def test_wrong_ones_at_once_are_all_counted() -> None:
    together(lambda name: record_wrong(name, address=HERE), on=["grower"] * 12)
    assert AccessAttempt.objects.get().failures_since_start == 12


def test_wrong_ones_of_long_ago_do_not_count(people: People) -> None:
    for hour in range(2):
        with clock.at(NOON + timedelta(hours=hour)):
            assert {knock("grower").status_code for _ in range(NAME_LIMIT - 1)} == {400}
    assert AccessAttempt.objects.get().failures_since_start == NAME_LIMIT - 1


def test_many_names_from_one_address_lock_the_address(people: People) -> None:
    with clock.at(NOON):
        for number in range(ADDRESS_LIMIT - 1):
            record_wrong(f"name{number}", address=HERE)
        assert knock("grower").status_code == 429
        right = knock("grower", PASSWORD)
        assert (right.status_code, "Wait until 12:15" in right.content.decode()) == (429, True)
        assert knock("grower", PASSWORD, address=THERE).status_code == 303
    with clock.at(NOON + LOCKED):
        assert knock("grower", PASSWORD).status_code == 303


def test_names_that_nobody_has_get_the_same_answers_and_cost_the_same(
    people: People, hashes: type[Counting]
) -> None:
    told = {}
    for name in ("grower", "nobody"):
        hashes.count = 0
        pages = [knock(name) for _ in range(NAME_LIMIT + 1)]
        texts = [str(page.context["form"].non_field_errors()) for page in pages]
        told[name] = ([page.status_code for page in pages], texts, hashes.count)
    assert told["grower"] == told["nobody"]
    assert told["grower"][2] == NAME_LIMIT


def test_a_thousand_wrong_passwords(people: People, hashes: type[Counting]) -> None:
    for number in range(1000):
        request = RequestFactory(REMOTE_ADDR=HERE).post("/sign-in", {"password": f"wrong-{number}"})
        assert authenticate(request, username="grower", password=f"wrong-{number}") is None
    assert hashes.count == NAME_LIMIT
    assert AccessAttempt.objects.get().failures_since_start == NAME_LIMIT
    assert knock("grower", PASSWORD).status_code == 429
    assert hashes.count == NAME_LIMIT
    assert not AccessLog.objects.exists()
    assert not AccessFailureLog.objects.exists()


def test_nothing_that_was_sent_is_kept_or_logged(
    people: People, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        for _ in range(NAME_LIMIT + 1):
            Client(REMOTE_ADDR=HERE, headers={"user-agent": "Odd/1"}).post(
                "/sign-in?next=/frags", {"username": "grower", "password": "wrong-lamp-9"}
            )
    kept = AccessAttempt.objects.get()
    assert (kept.get_data, kept.post_data, kept.user_agent, kept.http_accept) == ("", "", "", "")
    assert "Sign-in is locked for a while" in caplog.text
    for private in ("wrong-lamp-9", "grower", HERE, "Odd/1"):
        assert private not in caplog.text


def test_the_night_takes_away_what_locks_nothing_any_more(people: People) -> None:
    with clock.at(NOON):
        knock("grower")
    with clock.at(NOON + timedelta(minutes=10)):
        knock("seller")
        assert prune_attempts() == 0
    with clock.at(NOON + LOCKED):
        assert prune_attempts() == 1
    assert AccessAttempt.objects.get().username == "seller"
