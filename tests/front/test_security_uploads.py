"""What may be sent to a page, and how too much of it is refused."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, RequestFactory

from fraginv.base.door import MEGABYTE, MOST_WITH_A_FILE, TooLarge, check_size
from fraginv.base.rules.pictures import MAX_BYTES
from fraginv.base.rules.roles import Role
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.intake import waiting_name
from fraginv.stock.models import Frag
from tests.base.test_pictures import bomb_png, make_picture
from tests.conftest import People
from tests.factories import make_lot
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
FORM = "application/x-www-form-urlencoded"


@pytest.fixture
def lot(people: People) -> Frag:
    """Something that a picture can be taken of."""
    return make_lot(people[Role.GROWER], 5)


def send(client: Client, lot: Frag, data: bytes, name: str = "a.jpg") -> Any:
    """File a picture of the lot."""
    file = SimpleUploadedFile(name, data, content_type="image/jpeg")
    fields = {"picture": file, "replay_key": str(uuid4())}
    return client.post(f"/photos/of/{lot.code_id}/add", fields)


def test_a_picture_is_taken_and_what_is_none_is_not(client_for: ClientFor, lot: Frag) -> None:
    client = client_for(Role.GROWER)
    assert send(client, lot, make_picture()).status_code == 303
    # Content, not name or stated type, says what a file is.
    for data in (
        b"<svg onload=alert(1)>",
        b"%PDF-1.7",
        b"MZ\x90\x00",
        b"GIF89a",
        b"PK\x03\x04",
        b"",
    ):
        answer = send(client, lot, data)
        assert answer.status_code == 400
    assert Photo.objects.count() == 1
    assert send(client, lot, make_picture(size=(90, 60)), "../../etc/reef.exe").status_code == 303
    assert not {"etc", "exe"} & set(str(Photo.objects.latest("pk").file).split("/"))


@pytest.mark.parametrize("role", [Role.GROWER, None])
def test_too_much_is_refused_by_its_header(
    client_for: ClientFor, lot: Frag, role: Role | None
) -> None:
    kind = "multipart/form-data; boundary=x"
    answer = client_for(role).generic(
        "POST", "/labels/", b"x", content_type=kind, CONTENT_LENGTH=str(2 * 1024 * MEGABYTE)
    )
    assert answer.status_code == 413
    text = words_on(answer)
    assert "has 2,048 MB; at most 25 MB are taken at once" in text
    assert "nothing was written" in text


@pytest.mark.parametrize(
    ("length", "kind", "limit"),
    [
        (MOST_WITH_A_FILE, "multipart/form-data; boundary=x", 0),
        (MOST_WITH_A_FILE + 1, "multipart/form-data; boundary=x", 25),
        (5 * MEGABYTE, FORM, 0),
        (5 * MEGABYTE + 1, FORM, 5),
        (5 * MEGABYTE + 1, "", 5),
        (10**30, FORM, 5),
        ("", FORM, 0),
        ("many", FORM, 0),
        ("1e9", FORM, 0),
        ("-5", FORM, 0),
    ],
)
def test_the_header_alone_decides(length: int | str, kind: str, limit: int) -> None:
    # Django reads as many bytes as int() makes of the header, and none where it fails.
    request = RequestFactory().generic("POST", "/labels/", b"x", content_type=kind)
    request.META["CONTENT_LENGTH"] = str(length)
    if not limit:
        check_size(request)
        return
    with pytest.raises(TooLarge, match=f"at most {limit} MB") as refused:
        check_size(request)
    assert f"has {limit} MB" not in refused.value.message


def test_the_largest_picture_fits_with_its_fields() -> None:
    assert MOST_WITH_A_FILE - MAX_BYTES >= MEGABYTE
    assert settings.DATA_UPLOAD_MAX_MEMORY_SIZE < MOST_WITH_A_FILE


def test_a_body_in_portions_is_refused_unread(client_for: ClientFor, lot: Frag) -> None:
    answer = client_for(Role.GROWER).post("/labels/", headers={"transfer-encoding": "chunked"})
    assert answer.status_code == 411
    assert "does not say how large it is" in answer.content.decode()


def test_what_was_too_large_is_read_to_its_end_and_dropped(
    client_for: ClientFor, lot: Frag
) -> None:
    answer = send(client_for(Role.GROWER), lot, b"x" * (MOST_WITH_A_FILE + 1))
    assert answer.status_code == 413
    assert answer.wsgi_request.read(1) == b""
    assert not Photo.objects.exists()


def test_fields_and_files_are_counted(client_for: ClientFor, lot: Frag) -> None:
    client = client_for(Role.GROWER)
    fields = {f"f{number}": "1" for number in range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)}
    files = {f"f{number}": SimpleUploadedFile("a", b"x") for number in range(5)}
    for sent in (fields, files):
        answer = client.post("/labels/", sent)
        assert answer.status_code == 400
        assert "That could not be read" in answer.content.decode()


def test_broken_forms_are_refused(client_for: ClientFor, lot: Frag) -> None:
    client = client_for(Role.GROWER)
    for kind, body in (
        ("multipart/form-data", b"--x\r\n"),
        (f"multipart/form-data; boundary={'x' * 500}", b"--x\r\n"),
        ("application/x-www-form-urlencoded; charset=utf-16", b"a=1"),
    ):
        answer = client.generic("POST", "/labels/", body, content_type=kind)
        assert answer.status_code == 400, kind


def test_xml_is_no_form_and_is_not_read(client_for: ClientFor, lot: Frag) -> None:
    body = b"<!DOCTYPE a [<!ENTITY b SYSTEM 'file:///etc/passwd'>]><a>&b;</a>"
    answer = client_for(Role.GROWER).generic("POST", "/labels/", body, content_type="text/xml")
    assert answer.status_code == 400
    assert not answer.wsgi_request.POST
    assert b"root:" not in answer.content


def test_pictures_that_come_in_by_the_dozen_are_looked_at_one_by_one(
    client_for: ClientFor,
) -> None:
    client, key = client_for(Role.GROWER), uuid4()
    for data, name in (
        (b"<svg onload=alert(1)>", "a.jpg"),
        (b"MZ\x90\x00", "reef.jpg"),
        (make_picture(kind="GIF"), "a.png"),
        (bomb_png(20_000, 20_000), "b.png"),
        (make_picture(), "../../etc/<b>reef.exe"),
    ):
        file = SimpleUploadedFile(name, data, content_type="image/jpeg")
        fields = {"pictures": file, "key": key, "replay_key": uuid4()}
        assert client.post("/photos/send", fields).status_code == 303
    states = dict(Incoming.objects.values_list("name", "state"))
    assert states.pop("<b>reef.exe") == "waiting"
    assert set(states.values()) == {"refused"}
    assert "too many pixels" in Incoming.objects.get(name="b.png").said
    waiting = Incoming.objects.get(state="waiting")
    assert waiting_name(waiting) == f"incoming/{waiting.pk}-{waiting.sha256}"
    page = client.get(f"/photos/sent/{key}").content.decode()
    assert "&lt;b&gt;reef.exe" in page
