"""Taking and showing photos through the browser's door."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.files import Unpacked
from fraginv.base.models import Person
from fraginv.base.pictures import inspect_picture
from fraginv.base.rules.codes import address_path
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.photos import file_photo, file_unpacked
from fraginv.growth.models import Photo
from fraginv.stock.actions.aside import set_apart
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_rack

ClientFor = Callable[[Role | None], Client]
FILERS = [Role.GROWER, Role.SELLER, Role.MANAGER, Role.OWNER]


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


def send(client: Client, code: str, data: bytes, *, key: str = "", name: str = "reef.jpg") -> Any:
    """Send a picture as a phone would, whatever type it claims."""
    picture = SimpleUploadedFile(name, data, content_type="image/jpeg")
    return client.post(
        reverse("growth:add_photo", args=[code]),
        {"picture": picture, "caption": "Blue light", "replay_key": key or str(uuid4())},
    )


def address(photo: Photo, *, size: int = 600, mark: str = "") -> str:
    return reverse("growth:photo", args=[photo.pk, mark or photo.mark, size])


@pytest.mark.parametrize("role", FILERS)
def test_crew_file_a_picture_and_come_back_to_the_frag(
    client_for: ClientFor, frag: Frag, role: Role
) -> None:
    response = send(client_for(role), frag.code_id, make_picture())
    assert response.status_code == 303
    photo = Photo.objects.get()
    assert response["Location"] == f"{address_path(frag.code_id)}?filed={photo.pk}"
    assert (photo.frag, photo.by.role, photo.caption) == (frag, role, "Blue light")


def test_the_form_takes_files_without_a_script(client_for: ClientFor, frag: Frag) -> None:
    page = client_for(Role.GROWER).get(reverse("growth:add_photo", args=[frag.code_id]))
    text = page.content.decode()
    assert page.status_code == 200
    assert 'enctype="multipart/form-data"' in text
    assert 'accept="image/*"' in text
    assert 'name="replay_key"' in text


def test_a_colony_is_photographed_the_same_way(client_for: ClientFor, grower: Person) -> None:
    colony = make_colony(grower)
    assert send(client_for(Role.GROWER), colony.code_id, make_picture()).status_code == 303
    assert Photo.objects.get().colony == colony


def test_readers_and_strangers_file_nothing(client_for: ClientFor, frag: Frag) -> None:
    assert send(client_for(Role.READER), frag.code_id, make_picture()).status_code == 403
    assert send(client_for(None), frag.code_id, make_picture()).status_code == 302
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (b"%PDF-1.7", "reef.jpg", "The file is a PDF, whatever its name says"),
        (make_picture()[:400], "reef.jpg", "damaged or not whole"),
        (b"\x00\x00\x00\x18ftypheic" + b"0" * 99, "IMG_1.HEIC", "damaged or not whole"),
        (b"", "reef.jpg", "then choose it again, or take a new one"),
    ],
    ids=["renamed", "truncated", "cut-off heic", "empty"],
)
def test_a_picture_that_is_none_is_refused_in_words(
    client_for: ClientFor, frag: Frag, data: bytes, name: str, words: str
) -> None:
    response = send(client_for(Role.GROWER), frag.code_id, data, name=name)
    assert response.status_code == 400
    assert words in response.content.decode()
    assert not Photo.objects.exists()


def test_a_missing_picture_is_asked_for(client_for: ClientFor, frag: Frag) -> None:
    url = reverse("growth:add_photo", args=[frag.code_id])
    response = client_for(Role.GROWER).post(url, {"replay_key": str(uuid4())})
    assert response.status_code == 400
    assert "Nothing was saved yet." in response.content.decode()


def test_a_form_sent_twice_files_once(client_for: ClientFor, frag: Frag) -> None:
    client, key = client_for(Role.GROWER), str(uuid4())
    answers = [send(client, frag.code_id, make_picture(), key=key) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert Photo.objects.count() == 1
    assert frag.events.filter(kind="photographed").count() == 1


def test_the_same_key_with_another_picture_is_refused(client_for: ClientFor, frag: Frag) -> None:
    client, key = client_for(Role.GROWER), str(uuid4())
    send(client, frag.code_id, make_picture(), key=key)
    response = send(client, frag.code_id, make_picture(size=(70, 70)), key=key)
    assert response.status_code == 409
    assert "sent before with other content" in response.content.decode()


def test_codes_that_have_no_photos_say_so(client_for: ClientFor, grower: Person) -> None:
    client = client_for(Role.GROWER)
    rack = client.get(reverse("growth:add_photo", args=[make_rack(grower).code_id]))
    unknown = client.get(reverse("growth:add_photo", args=["7K3Q9FN"]))
    wrong = client.get(reverse("growth:add_photo", args=["7K3Q9F2"]))
    assert (rack.status_code, unknown.status_code, wrong.status_code) == (404, 404, 400)
    assert "neither a frag nor a colony" in rack.content.decode()


@pytest.mark.parametrize("size", [240, 600, 1600])
def test_a_visitor_sees_a_picture_for_long(
    client_for: ClientFor, frag: Frag, grower: Person, size: int
) -> None:
    photo = file_photo(frag, data=make_picture(size=(2000, 1000)), by=grower)
    response = client_for(None).get(address(photo, size=size))
    assert (response.status_code, response["Content-Type"]) == (200, "image/jpeg")
    assert response["Cache-Control"] == "public, s-maxage=3600, max-age=31536000, immutable"
    assert inspect_picture(response.content).width == size


def test_what_is_set_apart_is_for_the_crew_alone(
    client_for: ClientFor, frag: Frag, grower: Person
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    set_apart([frag.pk], by=grower)
    assert client_for(None).get(address(photo)).status_code == 404
    response = client_for(Role.READER).get(address(photo))
    assert response.status_code == 200
    assert response["Cache-Control"].startswith("private")


def test_addresses_that_stand_for_nothing(
    client_for: ClientFor, frag: Frag, grower: Person
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    client = client_for(None)
    assert client.get(address(photo, mark="0" * 16)).status_code == 404
    assert (
        client.get(reverse("growth:photo", args=[photo.pk + 1, photo.mark, 600])).status_code == 404
    )
    assert client.get(address(photo, size=601)).status_code == 400
    assert client.post(address(photo)).status_code == 403


def test_the_page_shows_what_was_filed(client_for: ClientFor, frag: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower, caption="Under <blue> light")
    page = client_for(Role.GROWER).get(reverse("growth:add_photo", args=[frag.code_id]))
    text = page.content.decode()
    assert address(photo) in text
    assert "Under &lt;blue&gt; light" in text


def test_ten_photos_take_no_more_statements_than_one(
    client_for: ClientFor,
    frag: Frag,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client, url = client_for(Role.GROWER), reverse("growth:add_photo", args=[frag.code_id])
    file_photo(frag, data=make_picture(), by=grower)
    with django_assert_max_num_queries(40) as one:
        client.get(url)
    for side in range(50, 59):
        file_photo(frag, data=make_picture(size=(side, side)), by=grower)
    with django_assert_max_num_queries(len(one)):
        assert client.get(url).content.count(b"<img") == 10


def test_a_picture_is_unpacked_once_though_the_database_was_busy(
    transactional_db: None,
    client_for: ClientFor,
    frag: Frag,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tries: list[Unpacked] = []

    def busy_once(subject: Frag, *, picture: Unpacked, **rest: Any) -> Photo:
        tries.append(picture)
        if len(tries) == 1:
            raise OperationalError("database is locked")
        return file_unpacked(subject, picture=picture, **rest)

    monkeypatch.setattr("fraginv.growth.views.photos.file_unpacked", busy_once)
    assert send(client_for(Role.GROWER), frag.code_id, make_picture()).status_code == 303
    assert len(tries) == 2
    assert tries[0] is tries[1]
    assert Photo.objects.count() == 1
