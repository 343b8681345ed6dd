"""The organisation, its people and the parties, and what is refused of them."""

from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.founding import (
    add_party,
    add_person,
    found_organisation,
    parties_named,
    party_named,
)
from fraginv.base.errors import Conflict, FraginvError, InputError
from fraginv.base.models import Organisation, Party, Person
from fraginv.base.rules.roles import Right, Role
from tests.refusing import refused

ASKED: dict[str, Any] = {
    "name": "  Tidewater Hall Aquarium ",
    "currency": "usd",
    "zone": "America/New_York",
    "label_host": "reef.test",
}
PASSWORD = "plug-water-lamp-9"


def found(**changes: Any) -> Organisation:
    """Found an organisation as asked, with some answers changed."""
    fields = ASKED | changes
    return found_organisation(fields.pop("name"), **fields)


def test_an_organisation_is_written_down_tidily(db: None) -> None:
    found(contact="Pumphouse Lane 3", paper="a4", locale="en_GB")
    house = Organisation.objects.get()
    assert (house.pk, house.name, house.currency) == (1, "Tidewater Hall Aquarium", "USD")
    assert (house.zone, house.label_host) == ("America/New_York", "REEF.TEST")
    assert (house.paper, house.locale, house.is_demo) == ("a4", "en_GB", False)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": "  "}, "needs a name"),
        ({"currency": "QQQ"}, "QQQ"),
        ({"currency": ""}, "urrency"),
        ({"zone": "Atlantis/Deep"}, "'Atlantis/Deep' is no time zone"),
        ({"zone": ""}, "is no time zone"),
        ({"zone": "../etc/passwd"}, "is no time zone"),
        ({"locale": "xx_QQ_nothing"}, "'xx_QQ_nothing' is no locale"),
        ({"label_host": "reef test"}, "host"),
        ({"label_host": ""}, "host"),
        ({"name": "x" * 121}, "120"),
        ({"label_host": "A" * 61}, "host"),
        ({"paper": "a3"}, "paper"),
    ],
    ids=[
        "no name",
        "unknown currency",
        "no currency",
        "unknown zone",
        "no zone",
        "zone that is a path",
        "locale",
        "host with a space",
        "no host",
        "name too long",
        "host too long",
        "paper",
    ],
)
def test_what_cannot_be_worked_with_is_refused(
    db: None, changes: dict[str, Any], said: str
) -> None:
    with refused(said, error=FraginvError):
        found(**changes)
    assert not Organisation.objects.exists()
    assert found().pk == 1


def test_there_is_only_one(db: None) -> None:
    found()
    with refused("There is an organisation already", error=Conflict):
        found(name="Another Hall")
    assert Organisation.objects.get().name == "Tidewater Hall Aquarium"


def test_a_person_signs_in_with_a_hashed_password(db: None) -> None:
    person = add_person(" Mira.Holt ", name=" Mira Holt ", role=Role.OWNER, password=PASSWORD)
    stored = Person.objects.get()
    assert (stored.pk, stored.username, stored.name) == (person.pk, "mira.holt", "Mira Holt")
    assert PASSWORD not in stored.password
    assert stored.check_password(PASSWORD)
    assert stored.can(Right.MANAGE_PEOPLE)


@pytest.mark.parametrize(
    ("changes", "said", "error"),
    [
        ({"username": " "}, "needs a name and a sign-in name", InputError),
        ({"name": ""}, "needs a name and a sign-in name", InputError),
        ({"password": "short"}, "too short", InputError),
        ({"password": "password1234"}, "too common", InputError),
        ({"username": "MIRA"}, "The sign-in name mira is taken", Conflict),
        ({"username": "m" * 41}, "40", InputError),
        ({"name": "M" * 81}, "80", InputError),
    ],
    ids=["no sign-in", "no name", "short", "common", "taken", "long sign-in", "long name"],
)
def test_a_person_is_refused(
    db: None, changes: dict[str, Any], said: str, error: type[FraginvError]
) -> None:
    add_person("mira", name="Mira Holt", role=Role.OWNER, password=PASSWORD)
    fields: dict[str, Any] = {"username": "tom", "name": "Tom", "password": PASSWORD} | changes
    with refused(said, error=error):
        add_person(fields.pop("username"), role=Role.GROWER, **fields)
    assert Person.objects.count() == 1


def test_a_party_has_a_name(db: None) -> None:
    party = add_party(" Grotto & Daughters ", email=" a@b.example ", phone=" 5 ", address=" X ")
    told = (party.name, party.email, party.phone, party.address)
    assert told == ("Grotto & Daughters", "a@b.example", "5", "X")
    with refused("A name is needed", error=InputError):
        add_party("  ")
    with refused("120", error=InputError):
        add_party("x" * 121)


def test_a_party_is_found_by_its_name_in_any_capitals(db: None) -> None:
    party, made = party_named("Grotto & Daughters")
    assert made
    assert party_named(" grotto & DAUGHTERS ") == (party, False)
    assert Party.objects.count() == 1


def test_many_names_are_found_or_made_once(
    db: None, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    known = add_party("Ines Varga")
    names = ["ines varga", "Kofi", "KOFI ", "", "Straße", "STRASSE"]
    with django_assert_max_num_queries(4):
        found_by, made = parties_named(names)
    assert made == ["Kofi", "Straße"]
    assert found_by["ines varga"] == known
    assert found_by["Kofi"] == found_by["KOFI "]
    assert found_by["Straße"] == found_by["STRASSE"]
    assert "" not in found_by
    assert parties_named(["", "  "]) == ({}, [])
    assert Party.objects.count() == 3
