"""All photos of a piece, also those that its own page has no room for."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import SHOWN
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_rack

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


def file_some(frag: Frag, count: int, *, by: Person) -> None:
    for side in range(40, 40 + count):
        file_photo(frag, data=make_picture(size=(side, side)), by=by)


def path(code: str) -> str:
    return reverse("growth:photos", args=[code])


@pytest.mark.parametrize("role", [Role.GROWER, Role.READER])
def test_the_page_of_a_frag_leads_to_all(
    client_for: ClientFor, frag: Frag, grower: Person, role: Role
) -> None:
    client = client_for(role)
    file_some(frag, SHOWN + 1, by=grower)
    assert path(frag.code_id) in client.get(address_path(frag.code_id)).content.decode()
    page = client.get(path(frag.code_id)).content.decode()
    for photo in Photo.objects.all():
        assert reverse("growth:photo", args=[photo.pk, photo.mark, 600]) in page
    oldest = Photo.objects.last()
    assert oldest is not None
    measure = reverse("growth:measure", args=[oldest.pk, oldest.mark])
    assert (measure in page) == ("It shows something else" in page) == (role == Role.GROWER)


def test_pages_take_as_many_statements_for_many_as_for_one(
    client_for: ClientFor,
    frag: Frag,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("fraginv.growth.queries.photos.PAGE", 3)
    client, add = client_for(Role.GROWER), reverse("growth:add_photo", args=[frag.code_id])
    file_some(frag, 1, by=grower)
    with django_assert_max_num_queries(8) as one:
        client.get(path(frag.code_id))
    few = len(one)
    file_some(frag, 7, by=grower)
    with django_assert_max_num_queries(few):
        first = client.get(path(frag.code_id))
    seen = list(first.context["page"].rows)
    assert f"{path(frag.code_id)}?after={seen[-1].pk}" in client.get(add).content.decode()
    with django_assert_max_num_queries(few + 1):
        second = client.get(path(frag.code_id), {"after": seen[-1].pk})
    seen += second.context["page"].rows
    third = client.get(path(frag.code_id), {"after": seen[-1].pk})
    assert [*seen, *third.context["page"].rows] == list(Photo.objects.all())


def test_colonies_and_racks_have_theirs(client_for: ClientFor, grower: Person) -> None:
    client = client_for(Role.READER)
    for subject in (make_colony(grower), make_rack(grower)):
        assert "No photos yet" in client.get(path(subject.code_id)).content.decode()
        for side in (40, 50):
            file_photo(subject, data=make_picture(size=(side, side)), by=grower)
        assert path(subject.code_id) in client.get(address_path(subject.code_id)).content.decode()
        page = client.get(path(subject.code_id))
        assert page.content.count(b"<img") == 2
        assert b"Measure" not in page.content


def test_visitors_are_sent_to_the_door(client_for: ClientFor, frag: Frag) -> None:
    assert client_for(None).get(path(frag.code_id)).status_code == 302
    assert client_for(Role.GROWER).get(path("7K3Q9FN")).status_code == 404
