"""A shared phone changes hands: by PIN, as oneself, with one's own rights."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.hashers import identify_hasher
from django.test import Client

from fraginv.base import clock
from fraginv.base.errors import InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.crew import deactivate, reactivate, sign_out_everywhere
from fraginv.people.actions.phones import (
    PinTry,
    count_try,
    prune_phones,
    remember_phone,
    remove_pin,
    set_pin,
    try_pin,
)
from fraginv.people.actions.signing import prune_door
from fraginv.people.models import Phone, PhonePerson, Pin
from fraginv.people.queries.phones import has_pin, known_on_phone
from fraginv.people.rules.pins import TRIES, is_weak, read_pin
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.people.codes import code_now
from tests.people.test_second_step import forget_waits, set_up
from tests.together import together

ClientFor = Callable[[Role | None], Client]
PIN, OTHER_PIN = "274951", "830264"
WEAK = ["000000", "123456", "654321", "987654", "890123", "121212", "123123", "112233", "221100"]
WEAK += ["110110", "123321", "999998", "332211", "445566", "707070", "555777"]


@pytest.fixture
def phone(people: People) -> Client:
    """A browser on which grower and seller signed in by password; both have PINs; nobody is in."""
    client = Client()
    for role in (Role.GROWER, Role.SELLER):
        set_pin(people[role], pin=PIN)
        client.post("/sign-in", {"username": role.value, "password": PASSWORD})
    client.post("/change")
    return client


def token_of(client: Client) -> str:
    return client.cookies["phone"].value


def knows(client: Client) -> dict[str, bool]:
    """Return whom a phone knows, and whether by PIN."""
    return {one.person.username: one.by_pin for one in known_on_phone(token_of(client))}


def words(answer: Any) -> str:
    """Return a page's text with single spaces."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


@pytest.mark.parametrize("pin", WEAK)
def test_what_everybody_tries_first_is_no_pin(pin: str) -> None:
    assert is_weak(pin)
    with pytest.raises(InputError, match="first that anybody would try"):
        read_pin(pin)


@pytest.mark.parametrize("pin", ["274951", "830264", "100203", "918273"])
def test_other_digits_are(pin: str) -> None:
    assert read_pin(f"{pin[:3]} {pin[3:]}") == pin


def test_few_pins_are_refused() -> None:
    some = [f"{number:06}" for number in range(0, 1_000_000, 37)]
    assert sum(map(is_weak, some)) < len(some) * 0.03


@pytest.mark.parametrize("text", ["", "12345", "1234567", "12345a", "٢٧٤٩٥١"])
def test_a_pin_has_six_digits(text: str) -> None:
    with pytest.raises(InputError, match="has 6 digits"):
        read_pin(text)


def test_a_pin_is_kept_as_passwords_are(grower: Person) -> None:
    set_pin(grower, pin=PIN)
    kept = Pin.objects.get().hashed
    assert PIN not in kept
    assert identify_hasher(kept).verify(PIN, kept)
    set_pin(grower, pin=OTHER_PIN)
    assert identify_hasher(kept).verify(OTHER_PIN, Pin.objects.get().hashed)
    remove_pin(grower)
    assert not has_pin(grower)


@pytest.mark.parametrize("role", [Role.MANAGER, Role.OWNER, Role.READER])
def test_who_opens_money_and_people_has_no_pin(people: People, role: Role) -> None:
    with pytest.raises(NotAllowed, match="password is always needed"):
        set_pin(people[role], pin=PIN)


def test_change_person_takes_over_as_oneself(phone: Client, people: People) -> None:
    assert phone.get("/").status_code == 302
    page = words(phone.get("/change"))
    assert "Test grower grower, by PIN Test seller seller, by PIN" in page
    grower = people[Role.GROWER].pk
    asked = phone.get(f"/change/{grower}").content.decode()
    assert 'inputmode="numeric"' in asked
    answer = phone.post(f"/change/{grower}", {"pin": PIN})
    assert (answer.status_code, answer["Location"]) == (303, "/")
    assert phone.get("/stock/places").status_code == 200
    assert phone.get("/trade/sell").status_code == 403  # the seller's right, not lent


def test_changing_ends_the_visit_that_was(phone: Client, people: People) -> None:
    phone.post(f"/change/{people[Role.GROWER].pk}", {"pin": PIN})
    copied, before = Client(), phone.cookies["sessionid"].value
    copied.cookies["sessionid"] = before
    assert copied.get("/").status_code == 200
    assert "Test grower is signed in here" in words(phone.get("/change"))
    assert phone.post("/change")["Location"] == "/change"
    assert copied.get("/").status_code == 302
    phone.post(f"/change/{people[Role.SELLER].pk}", {"pin": PIN})
    assert phone.cookies["sessionid"].value != before
    assert copied.get("/").status_code == 302


def test_taking_over_without_ending_ends_it_all_the_same(phone: Client, people: People) -> None:
    phone.post("/sign-in", {"username": "seller", "password": PASSWORD})
    copied = Client()
    copied.cookies["sessionid"] = phone.cookies["sessionid"].value
    phone.post(f"/change/{people[Role.GROWER].pk}", {"pin": PIN})
    assert copied.get("/").status_code == 302
    assert "Test grower" in words(phone.get("/me"))


def test_the_cookie_is_long_random_and_out_of_scripts_reach(phone: Client) -> None:
    cookie = phone.cookies["phone"]
    assert len(cookie.value) == 43  # 256 bits in base64 without padding
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Lax", "/")
    assert cookie.value not in {phone.token_hash for phone in Phone.objects.all()}
    assert Phone.objects.count() == 1


def test_a_pin_opens_no_other_phone(phone: Client, people: People) -> None:
    grower = people[Role.GROWER].pk
    for token in ("", "x" * 43):
        stranger = Client()
        stranger.cookies["phone"] = token
        answer = stranger.post(f"/change/{grower}", {"pin": PIN})
        assert (answer.status_code, answer["Location"]) == (302, "/change")
        assert stranger.get("/").status_code == 302
        assert "knows nobody yet" in words(stranger.get("/change"))
    assert try_pin(grower, token="", pin=PIN) == PinTry(None, left=0)


def test_five_wrong_ones_and_the_password_is_needed_there(phone: Client, people: People) -> None:
    grower = people[Role.GROWER].pk
    told = [phone.post(f"/change/{grower}", {"pin": OTHER_PIN}) for _ in range(TRIES)]
    assert "can be tried 4 times more" in words(told[0])
    assert "can be tried once more" in words(told[3])
    assert "the password is needed now" in words(told[4])
    assert 'name="password"' in told[4].content.decode()
    assert phone.post(f"/change/{grower}", {"pin": PIN}).status_code == 200
    assert phone.get("/").status_code == 302
    assert knows(phone) == {"grower": False, "seller": True}
    assert 'value="grower"' in phone.get(f"/change/{grower}").content.decode()
    phone.post("/sign-in", {"username": "grower", "password": PASSWORD})
    assert knows(phone) == {"grower": True, "seller": True}


def test_a_right_one_takes_the_count_back(phone: Client, people: People) -> None:
    token, grower = token_of(phone), people[Role.GROWER].pk
    for _ in range(3):
        for left in (4, 3, 2, 1):
            assert try_pin(grower, token=token, pin=OTHER_PIN).left == left
        assert try_pin(grower, token=token, pin=PIN).person == people[Role.GROWER]


def test_a_try_is_counted_on_its_own_phone_alone(phone: Client, people: People) -> None:
    token, grower = token_of(phone), people[Role.GROWER].pk
    assert [count_try(grower, token=token) for _ in range(6)] == [4, 3, 2, 1, 0, None]
    assert count_try(grower, token="x") is None
    assert count_try(people[Role.SELLER].pk, token=token) == 4


@pytest.mark.django_db(transaction=True)
def test_many_at_once_are_no_more_than_five(people: People) -> None:
    grower = people[Role.GROWER]
    set_pin(grower, pin=PIN)
    token = remember_phone(grower, token="")
    told = together(lambda pin: try_pin(grower.pk, token=token, pin=pin), on=[OTHER_PIN] * 12)
    left = sorted(one.left for one in told if isinstance(one, PinTry))
    assert left == [*[0] * 8, 1, 2, 3, 4]  # five were counted, the fifth left none
    assert PhonePerson.objects.get().wrong == TRIES
    assert try_pin(grower.pk, token=token, pin=PIN).person is None


def test_a_pin_works_for_thirty_days_after_the_password(phone: Client) -> None:
    with clock.at(clock.now() + timedelta(days=29, hours=23)):
        assert knows(phone) == {"grower": True, "seller": True}
        prune_door()
        assert PhonePerson.objects.count() == 2
    with clock.at(clock.now() + timedelta(days=30, hours=1)):
        assert knows(phone) == {}
        assert prune_phones() == 3
    assert not Phone.objects.exists()


def new_password(people: People) -> None:
    grower = people[Role.GROWER]
    grower.set_password("kettle violin moss")
    grower.save(update_fields=["password"])


def put_out(people: People) -> None:
    deactivate(people[Role.GROWER].pk, by=people[Role.OWNER])


def put_out_and_let_in(people: People) -> None:
    put_out(people)
    reactivate(people[Role.GROWER].pk, by=people[Role.OWNER])


def out_everywhere(people: People) -> None:
    sign_out_everywhere(people[Role.GROWER].pk, by=people[Role.OWNER])


def another_role(people: People) -> None:
    Person.objects.filter(username="grower").update(role="manager")


def second_step(people: People) -> None:
    set_up(people[Role.GROWER])


def no_pin(people: People) -> None:
    remove_pin(people[Role.GROWER])


def test_a_form_from_before_is_refused_in_plain_words(people: People) -> None:
    client = Client(enforce_csrf_checks=True)

    def token() -> str:
        return client.cookies["csrftoken"].value

    def come(name: str) -> None:
        client.get("/sign-in")
        sent = {"username": name, "password": PASSWORD, "csrfmiddlewaretoken": token()}
        assert client.post("/sign-in", sent).status_code == 303

    come("grower")
    client.get("/me/pin")
    form = {"csrfmiddlewaretoken": token(), "pin": PIN, "password": PASSWORD}
    come("seller")
    refused = client.post("/me/pin", form)
    assert refused.status_code == 403
    for said in ("from an earlier visit", "Nothing was written", "sign in, open the form anew"):
        assert said in words(refused)
    assert "Test seller" in words(refused)
    assert not Pin.objects.exists()
    client.get("/me/pin")
    assert client.post("/me/pin", form | {"csrfmiddlewaretoken": token()}).status_code == 303


@pytest.mark.parametrize(
    "event",
    [new_password, put_out, put_out_and_let_in, out_everywhere, another_role, second_step, no_pin],
)
def test_what_ends_a_pins_use(
    phone: Client, people: People, event: Callable[[People], None]
) -> None:
    assert knows(phone)["grower"]
    event(people)
    assert not knows(phone).get("grower")
    phone.post(f"/change/{people[Role.GROWER].pk}", {"pin": PIN})
    assert phone.get("/").status_code == 302
    assert knows(phone)["seller"]


def test_managers_are_known_but_give_their_password(phone: Client, people: People) -> None:
    phone.post("/sign-in", {"username": "manager", "password": PASSWORD})
    assert knows(phone) == {"grower": True, "manager": False, "seller": True}
    phone.post("/change")
    page = phone.get(f"/change/{people[Role.MANAGER].pk}").content.decode()
    assert 'action="/sign-in"' in page
    assert 'name="pin"' not in page


def test_who_has_a_second_step_gives_it_even_after_the_password(
    phone: Client, people: People
) -> None:
    grower = people[Role.GROWER]
    secret, _ = set_up(grower)
    phone.post("/sign-in", {"username": "grower", "password": PASSWORD})
    forget_waits()
    answer = phone.post("/sign-in/code", {"code": code_now(secret, steps=1)})
    assert (answer.status_code, answer["Location"]) == (303, "/")
    assert has_pin(grower)
    assert knows(phone) == {"grower": False, "seller": True}
    phone.post("/change")
    phone.post(f"/change/{grower.pk}", {"pin": PIN})
    assert phone.get("/").status_code == 302
    with pytest.raises(NotAllowed, match="password is always needed"):
        set_pin(grower, pin=OTHER_PIN)


def test_forget_me_here(phone: Client, people: People) -> None:
    answer = phone.post(f"/change/{people[Role.GROWER].pk}/forget")
    assert answer["Location"] == "/change"
    assert knows(phone) == {"seller": True}


def test_the_sign_in_page_leads_to_whom_the_phone_knows(phone: Client) -> None:
    assert "Names that this phone knows" in words(phone.get("/sign-in"))
    assert "Names that this phone knows" not in words(Client().get("/sign-in"))


def test_ones_pin_is_set_with_ones_password(client_for: ClientFor) -> None:
    client = client_for(Role.GROWER)
    for sent, said in (
        ({"pin": PIN, "password": "wrong"}, "not your password"),
        ({"pin": "123456", "password": PASSWORD}, "first that anybody would try"),
        ({"pin": PIN, "password": ""}, "This field is required"),
    ):
        answer = client.post("/me/pin", sent)
        assert (answer.status_code, said in words(answer)) == (400, True)
        assert PIN not in answer.content.decode()
    done = client.post("/me/pin", {"pin": PIN, "password": PASSWORD}, follow=True)
    assert "Your PIN is set" in words(done)
    assert "Take the PIN away" in words(done)
    gone = client.post("/me/pin/off", follow=True)
    assert "Your PIN is gone" in words(gone)
    assert not Pin.objects.exists()


def test_a_managers_pin_page_says_why_there_is_none(client_for: ClientFor) -> None:
    client = client_for(Role.MANAGER)
    page = client.get("/me/pin")
    assert "always sign in with your password" in words(page)
    assert 'name="pin"' not in page.content.decode()
    assert client.post("/me/pin", {"pin": PIN, "password": PASSWORD}).status_code == 400
    assert not Pin.objects.exists()


def test_a_phone_of_many_costs_no_more(
    phone: Client, people: People, django_assert_num_queries: Any
) -> None:
    token = token_of(phone)
    with django_assert_num_queries(2):
        known_on_phone(token)
    for number in range(10):
        person = Person.objects.create_user(f"g{number}", PASSWORD, name="G", role="grower")
        set_pin(person, pin=PIN)
        remember_phone(person, token=token)
    with django_assert_num_queries(2):
        assert len(known_on_phone(token)) == 12
    with django_assert_num_queries(0):
        assert known_on_phone("") == []
