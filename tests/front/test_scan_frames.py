"""Frames of a camera that the server reads: quickly, bounded, and kept nowhere."""

from collections.abc import Callable
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import InputError
from fraginv.base.models import StoredFile
from fraginv.base.paper import import_problem
from fraginv.base.pixels import MOST_GREY_PIXELS, grey_picture
from fraginv.base.rules.codes import address
from fraginv.base.rules.roles import Role
from fraginv.base.symbols import make_symbol
from tests.front.filming import HEIGHT, INK, PAPER, WATER, WIDTH, frame_of
from tests.front.scans import JSON, told

ClientFor = Callable[[Role | None], Client]
TEXT = address("REEF.TEST", "7K3Q9FN")


def jpeg(light: bytes, *, width: int = WIDTH, height: int = HEIGHT) -> bytes:
    """Pack grey pixels as a phone does."""
    target = BytesIO()
    Image.frombytes("L", (width, height), light).save(target, "JPEG", quality=70)
    return target.getvalue()


def read(client: Client, data: bytes) -> object:
    """Send a frame to be read."""
    return client.post("/scan/frame", data, content_type="image/jpeg", headers=JSON)


@pytest.mark.parametrize("module_px", [3, 4, 6, 12])
def test_a_label_is_read_near_and_far(client_for: ClientFor, module_px: int) -> None:
    frame = jpeg(frame_of(make_symbol(TEXT), module_px=module_px))
    assert told(read(client_for(Role.READER), frame)) == {"ok": True, "texts": [TEXT]}


def test_water_holds_no_label(client_for: ClientFor) -> None:
    assert told(read(client_for(Role.GROWER), jpeg(frame_of(None)))) == {"ok": True, "texts": []}


def test_a_frame_is_looked_at_and_nothing_is_written(
    client_for: ClientFor, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client, frame = client_for(Role.GROWER), jpeg(frame_of(make_symbol(TEXT)))
    with django_assert_max_num_queries(3) as asked:
        read(client, frame)
    assert all(query["sql"].startswith("SELECT") for query in asked.captured_queries)
    assert not StoredFile.objects.exists()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(b"", "", id="nothing"),
        pytest.param(b"GIF89a" + bytes(99), "", id="another kind"),
        pytest.param(jpeg(frame_of(None))[:900], "damaged", id="broken off"),
        pytest.param(
            jpeg(bytes(2000 * 1001), width=2000, height=1001), "too large", id="many pixels"
        ),
        pytest.param(jpeg(frame_of(None)) + bytes(300_001), "too large", id="many bytes"),
    ],
)
def test_what_is_no_frame_is_refused_in_words(
    client_for: ClientFor, data: bytes, words: str
) -> None:
    answer = told(read(client_for(Role.GROWER), data), 400)
    assert answer["code"] == "input"
    assert words in answer["message"]


def test_a_broken_frame_is_refused_after_a_paper_was_printed_too() -> None:
    assert import_problem() == ""  # from here on WeasyPrint is loaded in this process
    with pytest.raises(InputError, match="not whole"):
        grey_picture(jpeg(frame_of(None))[:900])


def test_a_picture_within_a_form_is_refused_in_words(client_for: ClientFor) -> None:
    client, data = client_for(Role.READER), jpeg(frame_of(None))
    for headers in (JSON, {}):
        picture = SimpleUploadedFile("a.jpg", data, content_type="image/jpeg")
        answer = client.post("/scan/frame", {"picture": picture}, headers=headers)
        assert answer.status_code == 400
        assert "Send the picture by itself" in answer.content.decode()
    assert not StoredFile.objects.exists()


def test_grey_pixels_are_those_that_were_drawn() -> None:
    light = frame_of(make_symbol(TEXT), module_px=8)
    pixels, width, height = grey_picture(jpeg(light))
    assert (width, height, len(pixels)) == (WIDTH, HEIGHT, WIDTH * HEIGHT)
    # JPEG, ITU-T T.81: what it loses at this quality is far less than from ink to paper.
    assert max(abs(a - b) for a, b in zip(pixels, light, strict=True)) < (PAPER - INK) / 2
    assert pixels[0] == pytest.approx(WATER, abs=2)


def test_colour_is_left_out_and_size_is_bounded() -> None:
    target = BytesIO()
    Image.new("RGB", (64, 48), (200, 30, 30)).save(target, "PNG")
    # ITU-R BT.601: 0.299 × 200 + 0.587 × 30 + 0.114 × 30 = 80.8
    assert set(grey_picture(target.getvalue())[0]) <= {80, 81}
    side = int(MOST_GREY_PIXELS**0.5) + 1
    with pytest.raises(InputError, match="too large to be read at once"):
        grey_picture(jpeg(bytes(side * side), width=side, height=side))
