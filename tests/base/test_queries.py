"""Reading codes, the organisation and its day, people, and writes done before."""

from datetime import UTC, date, datetime
from uuid import UUID, uuid4

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_codes
from fraginv.base.actions.founding import add_person
from fraginv.base.actions.keeping import answer_once
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Code, Organisation, Person, ReplayKey
from fraginv.base.queries.codes import get_code
from fraginv.base.queries.organisation import organisation as house
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.base.queries.people import first_owner, people_active
from fraginv.base.queries.replays import answer_of, known_answer, read_key
from fraginv.base.rules.roles import Role
from tests.conftest import People

SENT = {"pieces": ["5"], "path": "/trade/hold/7K3Q9FN"}


def test_a_code_of_ours_is_found(
    db: None, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    made = issue_codes(2, kind=Code.Kind.RACK)[1]
    with django_assert_max_num_queries(1):
        assert get_code(made.pk) == made


def test_a_code_that_is_none_of_ours_says_what_to_do(db: None) -> None:
    with pytest.raises(NotFound, match="7K3-Q9F-N is a well-formed code, but none") as failed:
        get_code("7K3Q9FN")
    assert failed.value.data == {"code": "7K3Q9FN"}


def test_before_the_first_run_it_says_what_to_do(db: None) -> None:
    for read in (house, today, first_owner):
        with pytest.raises(NotFound, match="manage.py start"):
            read()
    with pytest.raises(NotFound, match="manage.py start"), organisation_kept():
        pass


def test_the_organisation_is_read_once_where_it_is_kept(
    organisation: Organisation, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(1), organisation_kept() as kept:
        assert house() is kept
        today()
        with organisation_kept() as inner:
            assert inner is kept
    Organisation.objects.filter(pk=1).update(name="Renamed Hall")
    assert house().name == "Renamed Hall"


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("America/New_York", date(2026, 11, 24)),
        ("Pacific/Kiritimati", date(2026, 11, 25)),
        ("UTC", date(2026, 11, 25)),
    ],
)
def test_today_is_the_day_in_the_zone(organisation: Organisation, zone: str, day: date) -> None:
    Organisation.objects.filter(pk=1).update(zone=zone)
    with clock.at(datetime(2026, 11, 25, 4, 59, 59, tzinfo=UTC)):
        assert today() == day


def test_the_owner_who_came_first_and_may_sign_in_acts(people: People) -> None:
    second = add_person("zoe", name="Zoe", role=Role.OWNER, password="plug-water-lamp-9")
    assert first_owner() == people[Role.OWNER]
    Person.objects.filter(pk=people[Role.OWNER].pk).update(is_active=False)
    assert first_owner() == second
    assert people[Role.OWNER] not in people_active()
    assert list(people_active())[-1] == second
    Person.objects.filter(role=Role.OWNER.value).update(is_active=False)
    with pytest.raises(NotFound, match="no owner yet"):
        first_owner()


def test_a_key_is_read_in_every_spelling() -> None:
    key = uuid4()
    assert read_key(str(key)) == read_key(key.hex) == key
    assert isinstance(read_key(f"{{{key}}}"), UUID)
    with pytest.raises(InputError, match="came without its key"):
        read_key("7K3-Q9F-N")


def test_what_was_answered_is_told_to_the_same_person_for_the_same_content(
    people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    seller, key = people[Role.SELLER], str(uuid4())
    assert known_answer(key, by=seller, sent=SENT) is None
    answer_once(key, by=seller, sent=SENT, do=lambda: "/T/7K3Q9FN")
    with django_assert_max_num_queries(1):
        assert known_answer(key, by=seller, sent=SENT) == "/T/7K3Q9FN"
    with pytest.raises(Conflict, match="with other content"):
        known_answer(key, by=seller, sent=SENT | {"pieces": ["6"]})
    with pytest.raises(Conflict, match="by somebody else"):
        known_answer(key, by=people[Role.OWNER], sent=SENT)


def test_an_answer_is_read_from_its_row(people: People) -> None:
    seller, key = people[Role.SELLER], str(uuid4())
    answer_once(key, by=seller, sent=SENT, do=lambda: "/T/7K3Q9FN")
    row = ReplayKey.objects.get()
    assert answer_of(row, by=seller, sent=SENT) == "/T/7K3Q9FN"
    with pytest.raises(Conflict):
        answer_of(row, by=seller, sent={})
