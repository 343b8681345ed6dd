"""The second step: what a stolen password does not open."""

import re
import time
from base64 import b32encode
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
from django.test import Client
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from fraginv.base import clock
from fraginv.base.errors import Conflict, NotAllowed
from fraginv.base.models import Organisation, Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.factors import (
    SecondTry,
    confirm_factor,
    remove_factor,
    renew_recovery,
    start_factor,
    try_code,
    try_recovery,
)
from fraginv.people.queries.factors import (
    has_factor,
    key_in_waiting,
    people_with_factor,
    recovery_codes_left,
)
from fraginv.people.rules.factors import in_fours, key_uri, read_code, read_recovery, show_recovery
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.people.codes import STEP_SECONDS, code_at, code_now
from tests.together import together

ClientFor = Callable[[Role | None], Client]
MANAGER = {"username": "manager", "password": PASSWORD}

# RFC 6238, appendix B, the rows of SHA1: key, seconds since 1970, eight digits.
KEY = b"12345678901234567890"
VECTORS = [
    (59, "94287082"),
    (1111111109, "07081804"),
    (1111111111, "14050471"),
    (1234567890, "89005924"),
    (2000000000, "69279037"),
    (20000000000, "65353130"),
]


@pytest.fixture
def manager_key(manager: Person) -> str:
    """The key of a manager whose second step is set up; its first code is used up."""
    secret, _ = set_up(manager)
    return secret


def set_up(person: Person) -> tuple[str, list[str]]:
    """Set a second step up; return its key and the recovery codes."""
    secret = b32encode(start_factor(person).bin_key).decode()
    codes = confirm_factor(person, code=code_now(secret))
    assert len(codes) == 10
    return secret, codes


def words(answer: object) -> str:
    """Return a page's text with single spaces."""
    content = getattr(answer, "content", b"").decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", content))


def forget_waits() -> None:
    """Let the time pass in which no code is looked at after a wrong one."""
    long_ago = datetime.now(UTC) - timedelta(hours=1)
    for model in (TOTPDevice, StaticDevice):
        model.objects.update(throttling_failure_timestamp=long_ago)


@pytest.mark.parametrize(("moment", "code"), VECTORS)
def test_codes_are_those_of_the_standard(
    grower: Person, monkeypatch: pytest.MonkeyPatch, moment: int, code: str
) -> None:
    assert code_at(b32encode(KEY).decode(), moment, digits=8) == code
    device = TOTPDevice.objects.create(user=grower, key=KEY.hex(), digits=8, tolerance=0)
    now = SimpleNamespace(time=lambda: moment)
    monkeypatch.setattr("django_otp.plugins.otp_totp.models.time", now)
    assert device.verify_token(code)
    assert not device.verify_token(code)


@pytest.mark.parametrize(
    ("steps", "opens"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)]
)
def test_a_code_is_good_half_a_minute_either_way(
    manager: Person, monkeypatch: pytest.MonkeyPatch, steps: int, opens: bool
) -> None:
    """RFC 6238, 5.2, recommends at most one step of delay; 6 says the same of clocks ahead."""
    secret, _ = set_up(manager)
    moment = time.time() + 3600
    now = SimpleNamespace(time=lambda: moment)
    monkeypatch.setattr("django_otp.plugins.otp_totp.models.time", now)
    code = code_at(secret, moment + steps * STEP_SECONDS)
    assert try_code(manager, code=code).is_right is opens


def test_a_key_is_160_random_bits_and_goes_by_the_open_form(grower: Person) -> None:
    keys = {start_factor(grower).bin_key for _ in range(5)}
    assert (len(keys), {len(key) for key in keys}) == (5, {20})  # RFC 4226, 4: 160 bits
    uri = key_uri("JBSWY3DPEHPK3PXP", account="mira.holt", issuer="Tide & Co: Hall")
    parts = urlsplit(uri)
    assert (parts.scheme, parts.netloc) == ("otpauth", "totp")
    assert unquote(parts.path) == "/Tide & Co  Hall:mira.holt"
    assert parse_qs(parts.query) == {
        "secret": ["JBSWY3DPEHPK3PXP"],
        "issuer": ["Tide & Co  Hall"],
        "algorithm": ["SHA1"],
        "digits": ["6"],
        "period": ["30"],
    }
    assert "+" not in uri


def test_what_is_typed_is_read_kindly() -> None:
    assert in_fours("ABCDEFGHIJ") == "ABCD EFGH IJ"
    assert [read_code(text) for text in ("123 456", "123456", "12345", "12345a", "١٢٣٤٥٦")] == [
        *("123456", "123456"),
        *("", "", ""),
    ]
    assert show_recovery("7K3Q9F2MXA") == "7K3Q9-F2MXA"
    assert read_recovery(" 7k3q9-f2mxa") == "7K3Q9F2MXA"
    assert read_recovery("oil00 - 00000") == "0110000000"
    assert [read_recovery(text) for text in ("", "7K3Q9", "7K3Q9F2MXU")] == ["", "", ""]


def test_a_key_counts_once_it_is_confirmed(grower: Person) -> None:
    device = start_factor(grower)
    secret = b32encode(device.bin_key).decode()
    assert (has_factor(grower), people_with_factor()) == (False, set())
    assert confirm_factor(grower, code="000000" if code_now(secret) != "000000" else "1") == []
    forget_waits()
    assert len(set(confirm_factor(grower, code=code_now(secret)))) == 10
    assert (has_factor(grower), people_with_factor()) == (True, {grower.pk})
    assert (recovery_codes_left(grower), key_in_waiting(grower)) == (10, None)
    with pytest.raises(Conflict, match="Take it off first"):
        start_factor(grower)
    with pytest.raises(Conflict, match="Begin again"):
        confirm_factor(grower, code=code_now(secret))


def test_a_code_is_good_once_and_a_wrong_one_makes_wait(manager: Person) -> None:
    secret = b32encode(start_factor(manager).bin_key).decode()
    first, second = code_now(secret), code_now(secret, steps=1)
    assert confirm_factor(manager, code=first)
    assert not try_code(manager, code=first).is_right
    waiting = try_code(manager, code=second)
    assert not waiting.is_right
    assert waiting.wait_until is not None
    forget_waits()
    assert try_code(manager, code=second).is_right
    assert not try_code(manager, code=second).is_right


@pytest.mark.django_db(transaction=True)
def test_two_at_once_use_a_code_once(people: People) -> None:
    manager = people[Role.MANAGER]
    secret, codes = set_up(manager)
    code = code_now(secret, steps=1)
    told = together(lambda code: try_code(manager, code=code), on=[code] * 4)
    assert sum(one.is_right for one in told if isinstance(one, SecondTry)) == 1
    forget_waits()
    told = together(lambda code: try_recovery(manager, code=code), on=[codes[0]] * 4)
    assert sum(one.is_right for one in told if isinstance(one, SecondTry)) == 1


def test_waits_grow_so_that_nobody_tries_them_all(manager: Person, manager_key: str) -> None:
    for count in range(1, 8):
        forget_waits()
        try_code(manager, code="")
        told = try_code(manager, code="").wait_until
        at = TOTPDevice.objects.get().throttling_failure_timestamp
        assert told is not None
        assert told - at == timedelta(seconds=2 ** (count - 1))


def test_recovery_codes_open_once_and_only_marks_are_kept(manager: Person) -> None:
    _, codes = set_up(manager)
    kept = set(StaticToken.objects.values_list("token", flat=True))
    assert (len(kept), kept & set(codes)) == (10, set())
    assert try_recovery(manager, code=show_recovery(codes[0]).lower()).is_right
    assert recovery_codes_left(manager) == 9
    assert not try_recovery(manager, code=codes[0]).is_right
    forget_waits()
    new = renew_recovery(manager)
    assert not try_recovery(manager, code=codes[1]).is_right
    forget_waits()
    assert try_recovery(manager, code=new[1]).is_right


def test_one_persons_codes_are_no_others(manager: Person, seller: Person) -> None:
    _, codes = set_up(manager)
    set_up(seller)
    assert not try_recovery(seller, code=codes[0]).is_right
    assert not try_code(Person(pk=manager.pk + 100), code="123456").is_right


def test_only_oneself_or_an_owner_takes_it_off(people: People) -> None:
    for role in (Role.SELLER, Role.MANAGER):
        set_up(people[role])
    with pytest.raises(NotAllowed, match="Only an owner"):
        remove_factor(people[Role.SELLER].pk, by=people[Role.MANAGER])
    remove_factor(people[Role.MANAGER].pk, by=people[Role.MANAGER])
    remove_factor(people[Role.SELLER].pk, by=people[Role.OWNER])
    assert not people_with_factor()
    assert not StaticToken.objects.exists()


def test_nobody_is_signed_in_between_the_steps(manager_key: str) -> None:
    client = Client()
    answer = client.post("/sign-in", MANAGER | {"next": "/reports/"})
    assert (answer.status_code, answer["Location"]) == (303, "/sign-in/code")
    page = client.get("/sign-in/code")
    assert "Nobody is signed in yet" in words(page)
    assert 'inputmode="numeric"' in page.content.decode()
    assert 'autocomplete="one-time-code"' in page.content.decode()
    assert client.get("/").status_code == 302
    assert client.get("/frags")["Location"].startswith("/sign-in?")
    forget_waits()
    answer = client.post("/sign-in/code", {"code": code_now(manager_key, steps=1)})
    assert (answer.status_code, answer["Location"]) == (303, "/reports/")
    assert client.get("/").status_code == 200


def test_without_a_password_there_is_no_second_step(people: People) -> None:
    client = Client()
    for answer in (client.get("/sign-in/code"), client.post("/sign-in/code", {"code": "123456"})):
        assert (answer.status_code, answer["Location"]) == (302, "/sign-in")


def test_a_wrong_code_signs_nobody_in_and_says_what_to_do(manager_key: str) -> None:
    client = Client()
    client.post("/sign-in", MANAGER)
    told = [client.post("/sign-in/code", {"code": code}) for code in ("12", "000000", "")]
    assert {answer.status_code for answer in told} == {400}
    assert "used already. Wait for the next one" in words(told[0])
    assert "none is looked at for a second" in words(told[1])
    assert "This field is required" in words(told[2])
    with_time = TOTPDevice.objects.filter(user__username="manager")
    with_time.update(throttling_failure_count=10, throttling_failure_timestamp=datetime.now(UTC))
    late = words(client.post("/sign-in/code", {"code": "000000"}))
    assert re.search(r"none is looked at until \d+:\d\d", late)
    assert client.get("/").status_code == 302


def test_a_recovery_code_opens_in_place_of_the_phone(manager: Person) -> None:
    _, codes = set_up(manager)
    client = Client()
    client.post("/sign-in", MANAGER)
    wrong = client.post("/sign-in/code", {"recovery": "00000-00000"})
    assert (wrong.status_code, '<details class="card" open' in wrong.content.decode()) == (
        400,
        True,
    )
    forget_waits()
    assert client.post("/sign-in/code", {"recovery": codes[3]}).status_code == 303
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("late", ["six minutes", "another password", "put out", "clock back"])
def test_who_waits_too_long_or_is_another_begins_again(manager_key: str, late: str) -> None:
    client, moved = Client(), timedelta(0)
    client.post("/sign-in", MANAGER)
    member = Person.objects.get(username="manager")
    if late == "another password":
        member.set_password("kettle violin moss")
        member.save(update_fields=["password"])
    elif late == "put out":
        Person.objects.filter(pk=member.pk).update(is_active=False)
    else:
        moved = timedelta(minutes=6) if late == "six minutes" else timedelta(days=-1)
    forget_waits()
    with clock.at(clock.now() + moved):
        answer = client.post("/sign-in/code", {"code": code_now(manager_key, steps=1)}, follow=True)
        assert answer.redirect_chain == [("/sign-in", 302)]
        assert "within five minutes" in words(answer)
        assert client.get("/").status_code == 302


def test_the_password_of_another_ends_the_visit_that_was(
    manager_key: str, client_for: ClientFor
) -> None:
    client = client_for(Role.GROWER)
    client.post("/sign-in", MANAGER)
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("role", list(Role))
def test_managers_and_owners_are_asked_once_a_week(people: People, role: Role) -> None:
    client = Client()
    come = {"username": role.value, "password": PASSWORD, "next": "/frags"}
    asked = role in {Role.MANAGER, Role.OWNER}
    answer = client.post("/sign-in", come)
    assert answer["Location"] == ("/me/second-step?next=%2Ffrags" if asked else "/frags")
    page = client.get("/me/second-step?next=%2Ffrags")
    assert ("you are asked to set it up" in words(page)) is asked
    later = client.post("/me/second-step/later", {"next": "/frags"})
    assert later["Location"] == "/frags"
    cookie = later.cookies[f"factor_later_{people[role].pk}"]
    assert (cookie["max-age"], cookie["httponly"]) == (7 * 24 * 3600, True)
    assert client.post("/sign-in", come)["Location"] == "/frags"
    assert client.post("/me/second-step/later", {"next": "//x.example"})["Location"] == "/"


def test_the_demo_asks_nobody(people: People) -> None:
    Organisation.objects.update(is_demo=True)
    assert Client().post("/sign-in", {"demo": "owner"})["Location"] == "/"


def test_setting_up_ends_all_other_visits_and_keeps_this_one(client_for: ClientFor) -> None:
    here, there = client_for(Role.MANAGER), client_for(Role.MANAGER)
    assert here.get("/me/second-step/key")["Location"] == "/me/second-step"
    assert here.post("/me/second-step", {"password": "wrong"}).status_code == 400
    assert here.post("/me/second-step", {"password": PASSWORD})["Location"] == (
        "/me/second-step/key"
    )
    page = here.get("/me/second-step/key")
    device = TOTPDevice.objects.get()
    secret = b32encode(device.bin_key).decode()
    assert in_fours(secret) in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert there.get("/me/second-step/key")["Location"] == "/me/second-step"  # no password there
    assert here.post("/me/second-step/key", {"code": "1"}).status_code == 400
    forget_waits()
    done = here.post("/me/second-step/key", {"code": code_now(secret)})
    assert len(re.findall(r"[0-9A-Z]{5}-[0-9A-Z]{5}", words(done))) == 10
    assert "no-store" in done["Cache-Control"]
    assert (here.get("/").status_code, there.get("/").status_code) == (200, 302)
    assert "10 recovery codes left" in words(here.get("/me/second-step"))


def test_a_key_is_shown_for_a_quarter_of_an_hour(client_for: ClientFor) -> None:
    client = client_for(Role.GROWER)
    client.post("/me/second-step", {"password": PASSWORD})
    with clock.at(clock.now() + timedelta(minutes=14)):
        assert client.get("/me/second-step/key").status_code == 200
    with clock.at(clock.now() + timedelta(minutes=16)):
        assert client.get("/me/second-step/key").status_code == 302


@pytest.mark.parametrize("what", ["codes", "off"])
def test_changing_it_asks_for_the_password(
    client_for: ClientFor, people: People, what: str
) -> None:
    path, manager = f"/me/second-step/{what}", people[Role.MANAGER]
    assert client_for(Role.MANAGER).get(path)["Location"] == "/me/second-step"
    set_up(manager)
    client = Client()
    client.force_login(Person.objects.get(pk=manager.pk))
    assert client.get(path).status_code == 200
    assert client.post(path, {"password": "wrong"}).status_code == 400
    assert has_factor(manager)
    answer = client.post(path, {"password": PASSWORD})
    assert answer.status_code == (200 if what == "codes" else 303)
    assert has_factor(manager) is (what == "codes")
