"""Links that let somebody in: made, shown once, used once, and dead in time."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base import clock
from fraginv.base.actions.founding import add_person
from fraginv.base.errors import Conflict, FraginvError, Gone, InputError, NotFound
from fraginv.base.models import Person, ReplayKey
from fraginv.base.rules.roles import Role
from fraginv.base.rules.secrets import hash_of
from fraginv.base.symbols import read_symbols
from fraginv.people.actions.crew import deactivate
from fraginv.people.actions.invitations import (
    Link,
    accept,
    invite,
    offer_reset,
    renew,
    reset_at_the_machine,
    withdraw,
)
from fraginv.people.models import CrewEvent, Invitation
from fraginv.people.queries.invitations import invitation_of, invitations_open
from fraginv.people.rules.invitations import State, propose_username, state_of
from fraginv.people.rules.tokens import bytes_of, seal, text_of, unseal
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.reading import words_on
from tests.refusing import refused
from tests.together import together

ClientFor = Callable[[Role | None], Client]
NEW = "kettle violin moss"
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)


@pytest.fixture
def owner(people: People) -> Person:
    return people[Role.OWNER]


@pytest.fixture
def noon() -> Iterator[None]:
    """Let it be one moment until a test says another."""
    with clock.at(NOON):
        yield


def invited(owner: Person, **changes: Any) -> Link:
    """Invite a grower."""
    asked: dict[str, Any] = {"role": Role.GROWER, "email": ""} | changes
    return invite(asked.pop("name", "Ines Varga"), by=owner, **asked)


@pytest.mark.parametrize(
    ("used", "withdrawn", "ends", "state"),
    [
        (None, None, 1, State.OPEN),
        (None, None, 0, State.ENDED),
        (None, None, -1, State.ENDED),
        (-2, None, -1, State.USED),
        (None, -2, 1, State.WITHDRAWN),
        (-2, -1, 1, State.USED),
    ],
)
def test_what_becomes_of_a_link(
    used: int | None, withdrawn: int | None, ends: int, state: State
) -> None:
    def at(hours: int | None) -> datetime | None:
        return None if hours is None else NOON + timedelta(hours=hours)

    found = state_of(
        used_at=at(used),
        withdrawn_at=at(withdrawn),
        ends_at=NOON + timedelta(hours=ends),
        now=NOON,
    )
    assert found is state


@pytest.mark.parametrize(
    ("name", "username"),
    [
        ("Mira Holt", "mira.holt"),
        ("  Åse  Lindqvist-Bø ", "ase.lindqvist.b"),
        ("José María", "jose.maria"),
        ("O'Neil", "o.neil"),
        ("陳美", ""),
        ("A" * 60, "a" * 40),
    ],
)
def test_a_sign_in_name_is_proposed(name: str, username: str) -> None:
    assert propose_username(name) == username


@given(st.binary(min_size=32, max_size=32), st.binary(min_size=32, max_size=32))
def test_a_sealed_token_opens_with_its_key_alone(token: bytes, key: bytes) -> None:
    text = text_of(token)
    sealed = seal(text, key=key)
    assert unseal(sealed, key=key) == text
    assert text not in sealed
    with pytest.raises(ValueError, match="another key"):
        unseal(sealed, key=bytes(one ^ 1 for one in key))


def test_two_tokens_are_never_covered_alike() -> None:
    """A cover that was used twice would show how two tokens differ."""
    key = b"k" * 32
    tokens = [text_of(bytes([n]) * 32) for n in range(50)]
    covers = set()
    for token in tokens:
        covered = seal(token, key=key).partition(".")[2]
        covers.add(bytes(a ^ b for a, b in zip(bytes_of(covered), bytes_of(token), strict=True)))
    assert len(covers) == len(tokens)


@pytest.mark.usefixtures("noon")
def test_only_the_hash_is_kept_and_for_seven_days(owner: Person) -> None:
    link = invited(owner, email="ines@reef.example")
    row = link.invitation
    assert (row.name, row.role, row.email, row.by) == (
        "Ines Varga",
        "grower",
        "ines@reef.example",
        owner,
    )
    assert row.ends_at == NOON + timedelta(days=7)
    assert re.fullmatch(r"[A-Za-z0-9_-]{43}", link.token)  # 256 bits
    assert row.token_hash == hash_of(link.token)
    assert link.path == f"/join/{link.token}"
    assert link.token not in everything_kept()


def everything_kept() -> str:
    """Return all that stands in the database, as one text."""
    said = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'SELECT * FROM "{table}"')
            said.append(str(cursor.fetchall()))
    return "\n".join(said)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": " "}, "needs a name"),
        ({"name": "x" * 81}, "80"),
        ({"email": "nowhere"}, "email"),
    ],
)
def test_what_cannot_be_invited_is_refused(
    owner: Person, changes: dict[str, Any], said: str
) -> None:
    with refused(said, error=InputError):
        invited(owner, **changes)
    assert not Invitation.objects.exists()


@pytest.mark.usefixtures("noon")
def test_the_invited_person_comes_in_once(owner: Person) -> None:
    link = invited(owner, email="ines@reef.example", role=Role.SELLER)
    person = accept(link.token, username=" Ines.V ", password=NEW)
    person.refresh_from_db()
    assert (person.username, person.name, person.role) == ("ines.v", "Ines Varga", "seller")
    assert (person.email, person.since) == ("ines@reef.example", NOON)
    assert person.check_password(NEW)
    assert CrewEvent.objects.get().by == owner
    with refused("was used already", error=Gone):
        accept(link.token, username="again", password=NEW)
    assert Person.objects.filter(name="Ines Varga").count() == 1


def test_a_link_outlives_what_was_typed_wrong(owner: Person) -> None:
    link = invited(owner)
    for name, password, said in [
        ("owner", NEW, "is taken"),
        (" ", NEW, "sign-in name"),
        ("ines", "short", "too short"),
        ("ines", "Ines-Varga-2026", "a name"),
    ]:
        with refused(said):
            accept(link.token, username=name, password=password)
    assert accept(link.token, username="ines", password=NEW).role == "grower"


def test_links_that_let_nobody_in_say_what_to_do(owner: Person) -> None:
    with clock.at(NOON):
        late, gone = invited(owner), invited(owner)
        withdraw(gone.invitation.pk, by=owner)
    with clock.at(NOON + timedelta(days=7)):
        for token, error, said in [
            ("x" * 43, NotFound, "leads nowhere"),
            ("", NotFound, "leads nowhere"),
            (late.invitation.token_hash, NotFound, "leads nowhere"),
            (late.token, Gone, "too old"),
            (gone.token, Gone, "withdrawn"),
        ]:
            with refused(said, error=error):
                accept(token, username="ines", password=NEW)
    with clock.at(NOON + timedelta(days=7, seconds=-1)):
        assert accept(late.token, username="ines", password=NEW).is_active


@pytest.mark.django_db(transaction=True)
def test_of_two_who_use_a_link_at_once_one_comes_in(people: People) -> None:
    link = invited(people[Role.OWNER])
    answers = together(
        lambda name: accept(link.token, username=name, password=NEW), on=["ines", "eve"]
    )
    refusals = [answer for answer in answers if isinstance(answer, FraginvError)]
    assert len(refusals) == 1
    assert "used already" in refusals[0].message
    assert Person.objects.filter(name="Ines Varga").count() == 1


def test_a_reset_gives_another_password_and_ends_all_visits(
    owner: Person, grower: Person, client_for: ClientFor
) -> None:
    inside = client_for(Role.GROWER)
    with clock.at(NOON):
        first = offer_reset(grower.pk, by=owner)
        link = offer_reset(grower.pk, by=owner)
        assert link.invitation.ends_at == NOON + timedelta(hours=24)
        with refused("withdrawn", error=Gone):
            invitation_of(first.token)
        assert inside.get("/").status_code == 200  # a link that nobody uses changes nothing
        with refused("the password that you have", error=InputError):
            accept(link.token, username="", password=PASSWORD)
        accept(link.token, username="", password=NEW)
    grower.refresh_from_db()
    assert grower.check_password(NEW)
    assert inside.get("/").status_code == 302
    assert Person.objects.count() == len(Role)
    kinds = list(CrewEvent.objects.order_by("pk").values_list("kind", "by__username"))
    assert kinds == [("reset", "owner"), ("reset", "owner"), ("password", "grower")]


def test_nobody_resets_themselves_or_who_was_put_out(owner: Person, grower: Person) -> None:
    with refused("For yourself, change your password", error=Conflict):
        offer_reset(owner.pk, by=owner)
    link = offer_reset(grower.pk, by=owner)
    Person.objects.filter(pk=grower.pk).update(is_active=False)
    with refused("withdrawn", error=Gone):
        accept(link.token, username="", password=NEW)
    with refused("Let them in again first", error=Conflict):
        offer_reset(grower.pk, by=owner)


def test_the_house_itself_resets_the_only_owner(owner: Person) -> None:
    link = reset_at_the_machine(" Owner ")
    assert accept(link.token, username="", password=NEW) == owner
    with refused("There are: grower, manager, owner, reader, seller", error=NotFound):
        reset_at_the_machine("nobody")


def test_a_new_link_kills_the_old_one(owner: Person, grower: Person) -> None:
    for old in (invited(owner), offer_reset(grower.pk, by=owner)):
        new = renew(old.invitation.pk, by=owner)
        assert new.invitation.person == old.invitation.person
        assert invitation_of(new.token).name == old.invitation.name
        with refused("withdrawn", error=Gone):
            invitation_of(old.token)
        assert new.invitation in invitations_open()
        assert old.invitation not in invitations_open()


def test_a_link_that_was_used_is_neither_withdrawn_nor_made_anew(owner: Person) -> None:
    link = invited(owner)
    accept(link.token, username="ines", password=NEW)
    for deed in (withdraw, renew):
        with refused("was used in the meantime", error=Conflict):
            deed(link.invitation.pk, by=owner)
    with refused("no invitation with this number", error=NotFound):
        withdraw(999_999, by=owner)
    assert Invitation.objects.get().withdrawn_at is None


def test_the_page_shows_the_link_once(client_for: ClientFor, owner: Person) -> None:
    client = client_for(Role.OWNER)
    sent = {"name": "Ines Varga", "role": "reader", "email": "", "replay_key": str(uuid4())}
    page = client.post("/people/invite", sent)
    assert page.status_code == 200
    token = found_token(page.content.decode())
    assert invitation_of(token).role == "reader"
    assert "no-store" in page["Cache-Control"]
    assert "Give it to Ines Varga alone" in words_on(page)
    # The same form sent again makes no second link, and cannot show the first.
    again = client.post("/people/invite", sent)
    assert (again.status_code, again["Location"]) == (303, "/people/")
    assert token not in client.get("/people/").content.decode()
    assert Invitation.objects.count() == 1
    assert not ReplayKey.objects.filter(answer__contains=token).exists()
    assert token not in everything_kept()


def found_token(page: str) -> str:
    """Return the token of the link that a page shows."""
    found = re.search(r'value="http://testserver/join/([^"/]+)"', page)
    assert found, page
    return found[1]


def test_links_are_made_anew_and_withdrawn_from_the_list(
    client_for: ClientFor, people: People
) -> None:
    client, grower = client_for(Role.OWNER), people[Role.GROWER]

    def post(path: str) -> Any:
        return client.post(path, {"replay_key": str(uuid4())}, follow=True)

    first = found_token(post(f"/people/{grower.pk}/reset").content.decode())
    row = invitation_of(first)
    page = post(f"/people/invitations/{row.pk}/renew")
    assert "chooses the new password of Test grower" in words_on(page)
    second = invitation_of(found_token(page.content.decode()))
    assert "is dead" in words_on(post(f"/people/invitations/{second.pk}/withdraw"))
    assert "Open links" not in words_on(client.get("/people/"))
    assert post("/people/invitations/999999/renew").status_code == 404


def test_an_invitation_that_cannot_be_is_asked_again(client_for: ClientFor) -> None:
    client = client_for(Role.OWNER)
    asked = client.get("/people/invite", {"name": "Ines"})
    assert 'value="Ines"' in asked.content.decode()
    assert "sees stock, customers, prices, sales papers" in words_on(asked)
    answer = client.post("/people/invite", {"name": "", "replay_key": str(uuid4())})
    assert answer.status_code == 400
    assert not Invitation.objects.exists()


def test_who_is_put_out_may_be_invited_under_another_name(owner: Person, grower: Person) -> None:
    deactivate(grower.pk, by=owner)
    with refused("is taken", error=Conflict):
        add_person("grower", name="Test grower", role=Role.GROWER, password=NEW)


def test_the_symbol_holds_the_link(client_for: ClientFor, people: People) -> None:
    """Read back by ZXing, which is no part of what draws it."""
    client = client_for(Role.OWNER)
    page = client.post(f"/people/{people[Role.READER].pk}/reset", {"replay_key": str(uuid4())})
    drawn = page.content.decode()
    size = int(re.findall(r'class="symbol"[^>]*viewBox="0 0 (\d+) \1"', drawn)[0])
    rows = [bytearray(b"\xff" * size) for _ in range(size)]
    for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", drawn):
        rows[int(y)][int(x) : int(x) + int(length)] = b"\0" * int(length)
    scale = 4
    wide = [bytes(one for one in row for _ in range(scale)) for row in rows for _ in range(scale)]
    found = read_symbols(b"".join(wide), width=size * scale, height=size * scale)
    assert [one.text for one in found] == [
        f"http://testserver/join/{found_token(drawn)}",
    ]
