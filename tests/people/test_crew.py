"""Who is on the crew: what owners change, and that there is always one of them."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django_otp.plugins.otp_totp.models import TOTPDevice
from pytest_django import Settings

from fraginv.base.actions.founding import add_person
from fraginv.base.errors import Conflict, FraginvError, InputError, NotAllowed, NotFound
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.crew import (
    change_person,
    deactivate,
    reactivate,
    sign_out_everywhere,
    take_factor,
)
from fraginv.people.actions.invitations import invite, offer_reset
from fraginv.people.models import CrewEvent, Invitation
from fraginv.people.queries.crew import crew, events_of
from fraginv.people.rules.crew import LAST_OWNER, OWN_ROLE, STRANGER, why_not_change
from fraginv.people.rules.words import EVENT_TEXTS, ROLE_TEXTS, rights_in_words
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.reading import words_on
from tests.refusing import refused
from tests.together import together

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def owner(people: People) -> Person:
    """Who sees to people."""
    return people[Role.OWNER]


@pytest.fixture
def second_owner(people: People) -> Person:
    """Another one."""
    return add_person("zoe", name="Zoe Marsh", role=Role.OWNER, password=PASSWORD)


def changed(person: Person, *, by: Person, **changes: Any) -> Person:
    """Change one thing about a person and leave the rest."""
    kept = {"name": person.name, "role": Role(person.role), "email": person.email}
    return change_person(person.pk, by=by, **(kept | changes))


def told(person: Person) -> list[tuple[str, str, str, str]]:
    """Return what was done about a person, the first thing first."""
    return [(e.kind, e.was, e.became, e.by.name) for e in reversed(events_of(person))]


@pytest.mark.parametrize(
    ("person", "by", "owners", "stays", "said"),
    [
        (2, 1, {1}, False, ""),
        (2, 1, {1, 2}, False, ""),
        (2, 1, {1}, True, ""),
        (1, 1, {1}, False, LAST_OWNER.format(name="Mira")),
        (1, 1, {1, 2}, False, OWN_ROLE),
        (2, 3, {1, 2}, False, STRANGER),
        (3, 3, {1}, True, STRANGER),
        (1, 2, {1}, False, STRANGER),
    ],
)
def test_who_may_be_changed(person: int, by: int, owners: set[int], stays: bool, said: str) -> None:
    why = why_not_change(person, name="Mira", by_id=by, owners=owners, stays_owner=stays)
    assert why == said


def test_every_role_and_event_has_its_words() -> None:
    assert set(ROLE_TEXTS) == set(Role)
    assert set(EVENT_TEXTS) == set(CrewEvent.Kind.values)
    assert rights_in_words(Role.READER) == [
        "see varieties, colonies, frags and racks",
        "see customers",
        "see prices and availability sheets",
        "see sales, receipts and credits",
        "see running costs, the month and the ledger",
    ]


def test_name_role_and_address_change_and_are_written_down(
    grower: Person, owner: Person, client_for: ClientFor
) -> None:
    inside = client_for(Role.GROWER)
    changed(grower, by=owner, name=" Ines Varga ", email="ines@reef.example")
    assert inside.get("/").status_code == 200
    changed(grower, by=owner, name="Ines Varga", email="ines@reef.example", role=Role.SELLER)
    grower.refresh_from_db()
    assert (grower.name, grower.role, grower.email) == ("Ines Varga", "seller", "ines@reef.example")
    assert told(grower) == [
        ("renamed", "", "", owner.name),
        ("address", "", "", owner.name),
        ("role", "grower", "seller", owner.name),
    ]
    # What was opened with the rights of one role, by PIN perhaps, is not kept for another.
    assert inside.get("/").status_code == 302


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": "  "}, "needs a name"),
        ({"name": "x" * 81}, "80"),
        ({"email": "no address"}, "email"),
    ],
)
def test_what_cannot_be_kept_is_refused(
    grower: Person, owner: Person, changes: dict[str, Any], said: str
) -> None:
    with refused(said, error=InputError):
        changed(grower, by=owner, **changes)
    assert not CrewEvent.objects.exists()


def test_nobody_is_known_by_a_number_that_nobody_has(owner: Person) -> None:
    with refused("nobody with this number", error=NotFound):
        deactivate(999_999, by=owner)


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.OWNER])
def test_only_an_owner_sees_to_people(people: People, role: Role) -> None:
    other = people[Role.GROWER if role is not Role.GROWER else Role.SELLER]
    deeds: list[Callable[[], object]] = [
        lambda: changed(other, by=people[role], name="X"),
        lambda: deactivate(other.pk, by=people[role]),
        lambda: reactivate(other.pk, by=people[role]),
        lambda: sign_out_everywhere(other.pk, by=people[role]),
        lambda: take_factor(other.pk, by=people[role]),
        lambda: invite("X", role=Role.OWNER, email="", by=people[role]),
        lambda: offer_reset(other.pk, by=people[role]),
    ]
    for deed in deeds:
        with refused("Only an owner", error=NotAllowed):
            deed()
    assert not CrewEvent.objects.exists()
    assert not Invitation.objects.exists()


def test_an_owner_who_was_read_before_being_put_out_is_none(
    owner: Person, second_owner: Person, grower: Person
) -> None:
    deactivate(second_owner.pk, by=owner)
    assert second_owner.is_active
    with refused("you are none any more", error=NotAllowed):
        deactivate(grower.pk, by=second_owner)


def test_the_last_owner_stays(owner: Person, second_owner: Person) -> None:
    for own in (Role.MANAGER, Role.READER):
        with refused("Nobody changes their own role", error=Conflict):
            changed(owner, by=owner, role=own)
    with refused("puts themselves out", error=Conflict):
        deactivate(owner.pk, by=owner)
    changed(second_owner, by=owner, role=Role.MANAGER)
    with refused("is the only owner", error=Conflict):
        changed(owner, by=owner, role=Role.MANAGER)
    with refused("is the only owner", error=Conflict):
        deactivate(owner.pk, by=owner)
    assert changed(owner, by=owner, name="Ann Oduya").name == "Ann Oduya"


@pytest.mark.django_db(transaction=True)
def test_two_owners_who_put_each_other_out_leave_one(people: People) -> None:
    pairs = [(people[Role.OWNER].pk, "zoe"), (0, people[Role.OWNER].username)]
    add_person("zoe", name="Zoe Marsh", role=Role.OWNER, password=PASSWORD)

    def put_out(pair: tuple[int, str]) -> Person:
        by = Person.objects.exclude(username=pair[1]).get(role=Role.OWNER.value)
        other = Person.objects.get(username=pair[1])
        return deactivate(other.pk, by=by)

    answers = together(put_out, on=pairs)
    refusals = [answer for answer in answers if isinstance(answer, FraginvError)]
    assert len(refusals) == 1
    assert isinstance(refusals[0], NotAllowed)
    assert Person.objects.filter(role=Role.OWNER.value, is_active=True).count() == 1


def test_who_is_put_out_leaves_at_once_and_comes_back_by_the_same_password(
    grower: Person, owner: Person, client_for: ClientFor
) -> None:
    inside = client_for(Role.GROWER)
    deactivate(grower.pk, by=owner)
    deactivate(grower.pk, by=owner)  # a second time says nothing new
    assert inside.get("/").status_code == 302
    door = {"username": "grower", "password": PASSWORD}
    assert Client().post("/sign-in", door).status_code == 400
    reactivate(grower.pk, by=owner)
    reactivate(grower.pk, by=owner)
    # A visit of before, on a phone that somebody else may have now, stays dead.
    assert inside.get("/").status_code == 302
    assert Client().post("/sign-in", door).status_code == 303
    assert [kind for kind, *_ in told(grower)] == ["left", "back"]


def test_links_of_who_is_put_out_die_with_it(
    owner: Person, second_owner: Person, grower: Person
) -> None:
    """An owner who is put out comes back by no link that was made before."""
    invite("X", role=Role.OWNER, email="", by=second_owner)
    offer_reset(grower.pk, by=second_owner)
    offer_reset(second_owner.pk, by=owner)
    kept = invite("Y", role=Role.READER, email="", by=owner)
    deactivate(second_owner.pk, by=owner)
    assert list(Invitation.objects.filter(withdrawn_at=None)) == [kept.invitation]


def test_links_of_an_owner_who_becomes_something_else_die_too(
    owner: Person, second_owner: Person
) -> None:
    invite("X", role=Role.OWNER, email="", by=second_owner)
    changed(second_owner, by=owner, role=Role.MANAGER)
    assert not Invitation.objects.filter(withdrawn_at=None).exists()


def test_signing_somebody_out_ends_their_visits_and_no_others(
    grower: Person, owner: Person, client_for: ClientFor
) -> None:
    one, two, other = client_for(Role.GROWER), client_for(Role.GROWER), client_for(Role.SELLER)
    assert {c.get("/").status_code for c in (one, two, other)} == {200}
    sign_out_everywhere(grower.pk, by=owner)
    assert [c.get("/").status_code for c in (one, two, other)] == [302, 302, 200]


def test_an_owner_takes_the_second_step_off(grower: Person, owner: Person) -> None:
    TOTPDevice.objects.create(user=grower, name="phone", confirmed=True)
    assert {p.username for p in crew() if p.has_factor} == {"grower"}  # type: ignore[attr-defined]
    take_factor(grower.pk, by=owner)
    take_factor(grower.pk, by=owner)
    assert not TOTPDevice.objects.exists()
    assert told(grower) == [("factor", "", "", owner.name)]


def test_the_list_costs_the_same_for_many(client_for: ClientFor, owner: Person) -> None:
    client = client_for(Role.OWNER)

    def statements(path: str) -> int:
        with CaptureQueriesContext(connection) as said:
            assert client.get(path).status_code == 200
        return len(said)

    client.get("/people/")
    invite("Ines Varga 0", role=Role.GROWER, email="", by=owner)
    few = statements("/people/")
    for n in range(10):
        add_person(f"hand{n}", name=f"Hand {n}", role=Role.GROWER, password=PASSWORD)
        invite(f"Ines Varga {n + 1}", role=Role.GROWER, email="", by=owner)
    assert statements("/people/") == few
    person = f"/people/{Person.objects.get(username='hand1').pk}"
    once = statements(person)
    for n in range(10):
        changed(Person.objects.get(username="hand1"), by=owner, name=f"Hand {n + 20}")
    assert statements(person) == once


def test_the_list_says_who_is_here_and_how_they_sign_in(
    client_for: ClientFor, people: People, owner: Person
) -> None:
    TOTPDevice.objects.create(user=people[Role.MANAGER], name="phone", confirmed=True)
    deactivate(people[Role.SELLER].pk, by=owner)
    invite("Ines Varga", role=Role.READER, email="", by=owner)
    page = words_on(client_for(Role.OWNER).get("/people/"))
    for words in ("Ines Varga", "invited as reader", "second step", "put out", "password only"):
        assert words in page
    assert "never signed in" in page


def test_a_persons_page_does_what_an_owner_asks(client_for: ClientFor, people: People) -> None:
    client, grower = client_for(Role.OWNER), people[Role.GROWER]
    path = f"/people/{grower.pk}"
    for what, words in [
        ("visits/end", "is signed out on every phone"),
        ("out", "is put out and cannot sign in"),
        ("in", "may sign in again"),
        ("second-step/off", "signs in with the password alone"),
    ]:
        answer = client.post(f"{path}/{what}", {"replay_key": str(uuid4())}, follow=True)
        assert words in words_on(answer)
    sent = {"name": "Ines Varga", "role": "seller", "email": "", "replay_key": str(uuid4())}
    answer = client.post(path, sent, follow=True)
    assert "Ines Varga got another role: grower, now seller" in words_on(answer)
    answer = client.post(path, sent | {"role": "captain", "replay_key": str(uuid4())})
    assert answer.status_code == 400


def test_a_person_nobody_knows_is_not_found(client_for: ClientFor) -> None:
    client = client_for(Role.OWNER)
    assert client.get("/people/999999").status_code == 404
    assert client.get("/people/x").status_code == 404
    for what in ("out", "in", "reset", "visits/end", "second-step/off"):
        answer = client.post(f"/people/999999/{what}", {"replay_key": str(uuid4())})
        assert answer.status_code == 404


def test_ones_own_page_in_the_list_leads_to_ones_own(client_for: ClientFor, owner: Person) -> None:
    page = words_on(client_for(Role.OWNER).get(f"/people/{owner.pk}"))
    assert "Nobody changes their own role" in page
    assert "Put out" not in page


def test_a_long_list_goes_on_by_name(client_for: ClientFor, people: People) -> None:
    for n in range(60):
        add_person(f"hand{n:02}", name=f"Hand {n:02}", role=Role.GROWER, password=PASSWORD)
    client, seen = client_for(Role.OWNER), []
    path = "/people/"
    while path:
        page = client.get(path).context["page"]
        seen += [person.name for person in page.rows]
        path = f"/people/?after={page.after}" if page.after else ""
    assert seen == sorted(seen)
    assert len(seen) == 60 + len(Role)
    assert client.get("/people/?after=999999").status_code == 404


@pytest.mark.usefixtures("frozen")
def test_days_are_those_of_the_organisation(client_for: ClientFor, people: People) -> None:
    late = datetime(2026, 11, 25, 3, tzinfo=UTC)  # still the 24th in New York
    Person.objects.update(since=late)
    assert "here since Nov 24, 2026" in words_on(client_for(Role.OWNER).get("/people/"))


@pytest.mark.parametrize(
    ("host", "warned"),
    [("127.0.0.1:8000", True), ("localhost:8000", True), ("reef.example", False)],
)
def test_a_link_that_opens_here_alone_says_so(
    client_for: ClientFor, settings: Settings, host: str, warned: bool
) -> None:
    settings.ALLOWED_HOSTS = ["*"]
    form = {"name": "Bo Marsh", "role": "grower", "email": "", "replay_key": str(uuid4())}
    answer = client_for(Role.OWNER).post("/people/invite", form, headers={"host": host})
    assert "Link for Bo Marsh" in words_on(answer)
    assert ("opens on this machine alone" in words_on(answer)) is warned
