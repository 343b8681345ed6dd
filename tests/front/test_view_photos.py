"""Sending pictures and the tray through the browser's door."""

import json
import uuid
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.intake import open_batch, take_in, work_off
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.factories import make_frag, make_rack
from tests.growth.labelled import labelled
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
KEY = uuid.UUID("5b7f1c1e-6f0e-4a39-9a6e-000000000001")


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


@pytest.fixture
def batch(grower: Person) -> Batch:
    return open_batch(uuid4(), by=grower)


def send(client: Client, *pictures: bytes, script: bool = False, **fields: Any) -> Any:
    """Send pictures, as the page's form does or as its script."""
    files = [SimpleUploadedFile(f"{at}.jpg", data) for at, data in enumerate(pictures)]
    told = {"key": KEY, "replay_key": str(uuid4()), "pictures": files, **fields}
    headers = {"accept": "application/json"} if script else {}
    return client.post(reverse("front:photos_send"), told, headers=headers)


def one(client: Client, row: Incoming, **fields: Any) -> Any:
    """Say what a picture of the tray shows."""
    told = {"replay_key": str(uuid4()), **fields}
    return client.post(reverse("front:tray_one", args=[row.pk]), told)


def test_pictures_go_in_by_one_form_and_the_page_says_what_became_of_each(
    client_for: ClientFor, grower: Person, frag: Frag
) -> None:
    client = client_for(Role.GROWER)
    answer = send(client, labelled(frag.code_id), b"%PDF-1.7", make_picture())
    assert answer.status_code == 303
    rows = list(Incoming.objects.order_by("pk"))
    assert [row.state for row in rows] == ["waiting", "refused", "waiting"]
    assert (rows[0].batch.by, rows[0].batch.key) == (grower, KEY)
    page = client.get(answer["Location"]).content.decode()
    assert "data-live-on" in page
    for row in rows:
        work_off(row.pk)
    after = client.get(answer["Location"])
    assert "data-live-on" not in after.content.decode()
    said = words_on(after)
    assert "3 pictures, 1 filed, 1 in the tray, 1 refused" in said
    assert "Filed under" in said
    assert "The file is a PDF" in said
    assert "No label can be read" in said


def test_the_page_says_what_was_sent_twice(client_for: ClientFor, frag: Frag) -> None:
    client, data = client_for(Role.GROWER), labelled(frag.code_id)
    said = words_on(client.get(send(client, data, data, make_picture())["Location"]))
    assert "2 pictures, 2 waiting, 1 sent twice" in said
    assert "Sent twice, also as 1.jpg; kept once." in said


def test_a_script_is_told_of_the_picture_it_sent(client_for: ClientFor, frag: Frag) -> None:
    client, key = client_for(Role.GROWER), str(uuid4())
    first, again = (
        send(client, labelled(frag.code_id), script=True, replay_key=key) for _ in range(2)
    )
    assert (first.status_code, first.json()["state"]) == (200, "waiting")
    assert again.status_code == 303
    told = client.get(again["Location"], headers={"accept": "application/json"}).json()
    assert told == first.json()
    refused = send(client, b"%PDF-1.7", script=True).json()
    assert (refused["state"], refused["ok"]) == ("refused", True)
    assert "a PDF" in refused["said"]
    assert Incoming.objects.count() == 2


def test_a_script_hears_what_is_wrong(client_for: ClientFor, seller: Person) -> None:
    client = client_for(Role.GROWER)
    nothing = send(client, script=True)
    assert (nothing.status_code, nothing.json()["code"]) == (400, "input")
    open_batch(KEY, by=seller)
    foreign = send(client, make_picture(), script=True)
    assert (foreign.status_code, foreign.json()["code"]) == (409, "conflict")
    url = reverse("front:photos_batch", args=[KEY])
    assert client.get(url, headers={"accept": "application/json"}).status_code == 400


def test_nothing_chosen_is_said(client_for: ClientFor) -> None:
    answer = send(client_for(Role.GROWER))
    assert answer.status_code == 400
    assert "choose some, then send them" in answer.content.decode()


def test_rack_and_scans_come_along(client_for: ClientFor, grower: Person, frag: Frag) -> None:
    rack = make_rack(grower)
    client = client_for(Role.GROWER)
    page = client.get(f"{reverse('front:photos')}?rack={rack.code_id}").content.decode()
    assert f'value="{rack.code_id}"' in page
    assert f"Photos of {rack}" in page
    scans = [[frag.code_id, "2026-11-25T12:00:00Z"], ["x"], 7, ["a" * 99, "b"], [1, 2]]
    send(client, make_picture(), rack=rack.code_id, scanned=json.dumps(scans))
    batch = Batch.objects.get()
    assert (batch.rack, batch.scanned) == (rack, scans[:1])
    assert client.get(f"{reverse('front:photos')}?rack=7K3Q9FN").status_code == 404


@pytest.mark.parametrize("scanned", ["", "nonsense", "{}", '"text"', "[[[[]]]]"])
def test_scans_that_make_no_sense_are_left_out(client_for: ClientFor, scanned: str) -> None:
    send(client_for(Role.GROWER), make_picture(), scanned=scanned)
    assert Batch.objects.get().scanned == []


def test_a_camera_picture_goes_the_same_way(client_for: ClientFor) -> None:
    picture = SimpleUploadedFile("a.jpg", make_picture())
    told = {"key": KEY, "replay_key": str(uuid4()), "camera": picture}
    answer = client_for(Role.GROWER).post(reverse("front:photos_send"), told)
    assert answer.status_code == 303
    assert Incoming.objects.get().name == "a.jpg"


def test_readers_send_nothing(client_for: ClientFor) -> None:
    assert send(client_for(Role.READER), make_picture()).status_code == 403
    assert send(client_for(None), make_picture()).status_code == 302
    assert not Incoming.objects.exists()


def test_the_tray_is_filed_picture_by_picture(
    client_for: ClientFor, batch: Batch, frag: Frag
) -> None:
    client = client_for(Role.SELLER)
    first, second = (
        take_in(labelled(seed=seed), name=f"{seed}.jpg", batch=batch) for seed in range(2)
    )
    page = client.get(reverse("front:tray")).content.decode()
    assert reverse("front:tray_one", args=[first.pk]) in page
    onwards = one(client, second, code=frag.code_id)
    assert (onwards.status_code, onwards["Location"]) == (
        303,
        reverse("front:tray_one", args=[first.pk]),
    )
    assert "1.jpg is filed under" in client.get(onwards["Location"]).content.decode()
    last = one(client, first, code=frag.code_id[-3:])
    assert last["Location"] == reverse("front:tray")
    assert "The tray is empty" in client.get(last["Location"]).content.decode()
    assert Photo.objects.filter(frag=frag).count() == 2


def test_proposals_can_be_tapped(client_for: ClientFor, batch: Batch, grower: Person) -> None:
    frags = [make_frag(grower) for _ in range(2)]
    row = take_in(labelled(*(frag.code_id for frag in frags)), name="a.jpg", batch=batch)
    page = client_for(Role.GROWER).get(reverse("front:tray_one", args=[row.pk]))
    for frag in frags:
        assert f'name="code" value="{frag.code_id}"' in page.content.decode()


@pytest.mark.parametrize(
    ("code", "status", "words"),
    [
        ("", 400, "Type a code, or tap"),
        ("7K3Q9F2", 400, "A character in"),
        ("7K3Q9FN", 400, "none of ours"),
        ("ZZZ", 400, "Nothing that lives here ends in"),
    ],
    ids=["nothing", "wrong character", "unknown", "no such end"],
)
def test_what_names_nothing_is_said(
    client_for: ClientFor, batch: Batch, code: str, status: int, words: str
) -> None:
    row = take_in(labelled(), name="a.jpg", batch=batch)
    answer = one(client_for(Role.GROWER), row, code=code)
    assert answer.status_code == status
    assert words in answer.content.decode()
    row.refresh_from_db()
    assert row.state == "tray"


def test_what_was_filed_meanwhile_says_so(client_for: ClientFor, batch: Batch, frag: Frag) -> None:
    client, row = client_for(Role.GROWER), take_in(labelled(), name="a.jpg", batch=batch)
    one(client, row, code=frag.code_id)
    again = one(client, row, code=frag.code_id)
    assert again.status_code == 400
    assert "does not lie in the tray any more" in again.content.decode()
    assert "Filed under" in words_on(client.get(reverse("front:tray_one", args=[row.pk])))


def test_thrown_away_and_taken_back(client_for: ClientFor, batch: Batch) -> None:
    client, row = client_for(Role.GROWER), take_in(labelled(), name="a.jpg", batch=batch)
    thrown = client.post(reverse("front:tray_throw", args=[row.pk]), {"replay_key": str(uuid4())})
    page = client.get(thrown["Location"]).content.decode()
    assert "a.jpg is thrown away" in page
    came = client.get(reverse("front:photos_batch", args=[batch.key])).content.decode()
    assert "Thrown away" in came
    back = client.post(reverse("front:tray_back", args=[row.pk]), {"replay_key": str(uuid4())})
    assert back["Location"] == reverse("front:tray_one", args=[row.pk])
    row.refresh_from_db()
    assert row.state == "tray"


def test_what_came_in_is_for_the_crews_eyes(client_for: ClientFor, batch: Batch) -> None:
    row = take_in(labelled(), name="a.jpg", batch=batch)
    url = reverse("growth:incoming", args=[row.pk, row.sha256[:16], 240])
    answer = client_for(Role.GROWER).get(url)
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert answer["Cache-Control"].startswith("private")
    assert client_for(Role.READER).get(url).status_code == 403
    assert client_for(None).get(url).status_code == 302
    wrong = reverse("growth:incoming", args=[row.pk, "0" * 16, 240])
    assert client_for(Role.GROWER).get(wrong).status_code == 404
    refused = take_in(b"none", name="b.jpg", batch=batch)
    nothing = reverse("growth:incoming", args=[refused.pk, refused.sha256[:16], 240])
    assert client_for(Role.GROWER).get(nothing).status_code == 404


def test_pages_cost_the_same_however_much_came_in(
    client_for: ClientFor,
    grower: Person,
    batch: Batch,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.GROWER)
    rows = [take_in(labelled(seed=seed), name="a.jpg", batch=batch) for seed in range(2)]
    pages = [
        reverse("front:photos"),
        reverse("front:photos_batch", args=[batch.key]),
        reverse("front:tray"),
        reverse("front:tray_one", args=[rows[0].pk]),
    ]
    counts = []
    for page in pages:
        with django_assert_max_num_queries(20) as made:
            assert client.get(page).status_code == 200
        counts.append(len(made))
    for seed in range(2, 9):
        other = open_batch(uuid4(), by=grower)
        for into, more in ((batch, 0), (other, 50)):
            take_in(labelled(seed=seed + more), name="a.jpg", batch=into)
    for page, most in zip(pages, counts, strict=True):
        with django_assert_max_num_queries(most):
            assert client.get(page).status_code == 200


def test_the_rack_shows_its_photos(client_for: ClientFor, grower: Person, frag: Frag) -> None:
    rack = make_rack(grower)
    client = client_for(Role.GROWER)
    assert f"?rack={rack.code_id}" in client.get(f"/T/{rack.code_id}").content.decode()
    batch = open_batch(uuid4(), by=grower, rack=rack)
    take_in(labelled(rack.code_id, frag.code_id), name="a.jpg", batch=batch)
    photo = Photo.objects.get(rack=rack)
    address = reverse("growth:photo", args=[photo.pk, photo.mark, 600])
    assert address in client.get(f"/T/{rack.code_id}").content.decode()
    assert client.get(address).status_code == 200
    assert client_for(None).get(address).status_code == 404


def test_pages_of_many_lead_on(client_for: ClientFor, batch: Batch) -> None:
    for seed in range(42):
        Incoming.objects.create(
            batch=batch, sha256=f"{seed:064}", name="a.jpg", state="refused", at=batch.at
        )
    url = reverse("front:photos_batch", args=[batch.key])
    page = client_for(Role.GROWER).get(url).content.decode()
    last = list(Incoming.objects.order_by("pk"))[39]
    assert f"?after={last.pk}" in page
    rest = client_for(Role.GROWER).get(f"{url}?after={last.pk}").content.decode()
    assert rest.count("Refused") == 2
