"""A photo sent from one piece's page whose label reads another's code."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path, show_code
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.actions.refiling import file_elsewhere
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.photos import photo_differences
from fraginv.growth.queries.sights import seen_in, subject_of
from fraginv.growth.rules.intake import Named
from fraginv.growth.rules.others import others_named, reads_others
from fraginv.stock.models import Frag
from fraginv.stock.queries.differences import stock_differences
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_rack
from tests.growth.labelled import labelled
from tests.reading import words_on
from tests.refusing import refused

ClientFor = Callable[[Role | None], Client]
UNKNOWN = "7K3Q9FN"


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


@pytest.fixture
def other(grower: Person) -> Frag:
    return make_frag(grower)


def send(client: Client, code: str, data: bytes) -> Any:
    picture = SimpleUploadedFile("reef.jpg", data, content_type="image/jpeg")
    told = {"picture": picture, "caption": "Blue light", "replay_key": str(uuid4())}
    return client.post(reverse("growth:add_photo", args=[code]), told, follow=True)


def last_page(answer: Any) -> str:
    return str(answer.redirect_chain[-1][0])


def test_another_frags_label_is_noticed_and_one_tap_files_it_there(
    client_for: ClientFor, frag: Frag, other: Frag
) -> None:
    client = client_for(Role.GROWER)
    answer = send(client, frag.code_id, labelled(other.code_id))
    there, here = show_code(other.code_id), show_code(frag.code_id)
    assert f"The label in it reads {there}, not {here}." in words_on(answer)
    assert f"Keep it under {here}" in words_on(answer)
    done = client.post(last_page(answer), {"replay_key": str(uuid4())}, follow=True)
    photo = Photo.objects.get()
    assert (photo.frag, photo.caption) == (other, "Blue light")
    assert last_page(done) == f"{address_path(other.code_id)}?filed={photo.pk}"
    assert "The picture is filed here now" in words_on(done)
    assert not Incoming.objects.filter(state="tray").exists()
    assert [*stock_differences(), *photo_differences()] == []


def test_a_colonys_label_is_noticed_too(client_for: ClientFor, frag: Frag, grower: Person) -> None:
    colony, client = make_colony(grower), client_for(Role.GROWER)
    answer = send(client, frag.code_id, labelled(colony.code_id))
    client.post(last_page(answer), {"replay_key": str(uuid4())})
    assert Photo.objects.get().colony == colony


def test_its_own_label_alone_or_among_others_is_no_news(
    client_for: ClientFor, frag: Frag, other: Frag, grower: Person
) -> None:
    client, rack = client_for(Role.GROWER), make_rack(grower)
    for codes in ([frag.code_id], [other.code_id, frag.code_id], [rack.code_id]):
        answer = send(client, frag.code_id, labelled(*codes))
        assert last_page(answer).startswith(address_path(frag.code_id))
        assert "The label" not in words_on(answer)


@pytest.mark.parametrize("is_strange", [True, False])
def test_what_leads_nowhere_alone_is_said_and_can_be_taken_out(
    client_for: ClientFor, frag: Frag, other: Frag, grower: Person, is_strange: bool
) -> None:
    codes = [UNKNOWN] if is_strange else [other.code_id, make_frag(grower).code_id]
    answer = send(client_for(Role.GROWER), frag.code_id, labelled(*codes))
    assert last_page(answer).endswith("/out")
    assert "in it read" in words_on(answer)
    assert f"not {show_code(frag.code_id)}" in words_on(answer)


def test_the_same_picture_again_is_said(client_for: ClientFor, frag: Frag) -> None:
    client = client_for(Role.GROWER)
    assert "The picture is filed." in words_on(send(client, frag.code_id, make_picture()))
    again = words_on(send(client, frag.code_id, make_picture()))
    assert "This picture was filed here before, so nothing was filed twice." in again
    assert "The picture is filed." not in again
    assert Photo.objects.count() == 1


def test_the_page_takes_few_statements(
    client_for: ClientFor,
    frag: Frag,
    other: Frag,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    url = reverse("growth:reads", args=[photo.pk, photo.mark, other.code_id])
    client = client_for(Role.GROWER)
    with django_assert_max_num_queries(10):
        assert client.get(url).status_code == 200


@pytest.mark.parametrize("role", [None, Role.READER])
def test_whoever_files_no_photos_moves_none(
    client_for: ClientFor, frag: Frag, other: Frag, grower: Person, role: Role | None
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    url = reverse("growth:reads", args=[photo.pk, photo.mark, other.code_id])
    assert client_for(role).post(url).status_code in {302, 303, 403}
    assert Photo.objects.get().frag == frag


def test_what_stands_there_already_is_let_alone(frag: Frag, other: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    assert file_elsewhere(photo.pk, subject=frag, by=grower) == photo
    assert Photo.every.count() == 1
    file_photo(make_colony(grower), data=make_picture(), by=grower)
    assert file_elsewhere(photo.pk, subject=other, by=grower).frag == other
    assert not Incoming.objects.exists()
    with refused("was taken out already", error=Conflict):
        file_elsewhere(photo.pk, subject=other, by=grower)


def test_what_was_taken_out_and_a_part_are_refused(frag: Frag, other: Frag, grower: Person) -> None:
    whole = file_photo(make_rack(grower), data=make_picture(size=(90, 60)), by=grower)
    part = file_photo(frag, data=make_picture(size=(30, 20)), by=grower)
    Photo.objects.filter(pk=part.pk).update(part_of=whole, left=0, top=0)
    with refused("a part of a photo of many", error=InputError):
        file_elsewhere(part.pk, subject=other, by=grower)
    take_out(whole.pk, by=grower)
    with refused("was taken out already", error=Conflict):
        file_elsewhere(whole.pk, subject=other, by=grower)


def test_measuring_says_that_the_label_is_anothers(frag: Frag, other: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=labelled(other.code_id), by=grower)
    said = list(seen_in(subject_of(photo.pk, mark=photo.mark)).problems)
    (found,) = [one for one in said if one.code == "other-label"]
    assert found.text.startswith(f"The label in it reads {show_code(other.code_id)}, not")
    own = file_photo(other, data=labelled(other.code_id), by=grower)
    codes = {one.code for one in seen_in(subject_of(own.pk, mark=own.mark)).problems}
    assert "other-label" not in codes


def test_an_older_label_of_the_frag_itself_is_its_own() -> None:
    known = {"A": Named("A", "frag", 7), "B": Named("B", "frag", 8), "R": Named("R", "rack", 1)}
    assert others_named(["A", "B"], known=known, kind="frag", pk=7) == []
    assert others_named(["B", "R"], known=known, kind="frag", pk=7) == [known["B"]]
    assert others_named(["X"], known=known, kind="frag", pk=7) == [Named("X")]


def test_several_are_named() -> None:
    both = [Named("7K3Q9FN"), Named("QYA80FN")]
    said = "The labels in it read 7K3-Q9F-N and QYA-80F-N, not 7K3-Q9F-2."
    assert reads_others(both, code="7K3Q9F2") == said
