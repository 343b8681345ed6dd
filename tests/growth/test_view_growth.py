"""The page that shows how a frag grew, and its photos as seen from straight above."""

import math
from collections.abc import Callable
from io import BytesIO

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, expect
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Measurement
from fraginv.growth.seeing.rectifying import seen_from_above
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.growth.rows import ABOVE, cut, grade, measure, outline
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def frag(people: People) -> Frag:
    """A frag that was cut 120 days ago and measured three times since."""
    grower = people[Role.GROWER]
    colony = make_colony(grower, variety=make_variety(grower, name="Pier Moss"))
    (frag,) = cut(colony, by=grower, days=120, pieces=1)
    for days, area in ((90, 200.0), (45, 400.0), (5, 590.0)):
        measure(frag, by=grower, days=days, area_mm2=area, with_outline=True)
    return frag


def path(code: str) -> str:
    return reverse("growth:growth", args=[code])


@pytest.mark.parametrize(
    ("role", "status"),
    [(Role.GROWER, 200), (Role.SELLER, 200), (Role.READER, 200), (None, 302)],
)
def test_who_reads(client_for: ClientFor, frag: Frag, role: Role | None, status: int) -> None:
    assert client_for(role).get(path(frag.code_id)).status_code == status
    picture = reverse("growth:from_above", args=[frag.measurements.all()[0].pk, 40])
    assert client_for(role).get(picture).status_code == status


def test_addresses_that_stand_for_nothing(client_for: ClientFor, frag: Frag) -> None:
    client = client_for(Role.GROWER)
    assert client.get(path("7K3Q9F2")).status_code == 400
    assert client.get(path("7K3Q9FN")).status_code == 404
    assert client.post(path(frag.code_id)).status_code == 403
    for picture, side, status in ((10**6, 40, 404), (1, 0, 400), (1, 1001, 400)):
        number = picture if picture > 1 else frag.measurements.all()[0].pk
        answer = client.get(reverse("growth:from_above", args=[number, side]))
        assert answer.status_code == status
    Measurement.objects.update(pose={})
    number = frag.measurements.all()[0].pk
    assert client.get(reverse("growth:from_above", args=[number, 40])).status_code == 404
    Measurement.objects.update(outline_mm=[])
    assert client.get(reverse("growth:from_above", args=[number, 40])).status_code == 404


def test_sizes_growth_and_what_is_expected(client_for: ClientFor, frag: Frag) -> None:
    said = words_on(client_for(Role.READER).get(path(frag.code_id)))
    # The doubling in 45 days of the check values.
    assert "1.54 ± 0.09" in said
    assert "100 ± 8" in said
    assert "Projected area, cm²" in said
    assert "Rests on 3 measurements of its own and what is usual for SPS" in said
    assert "with 8 chances in 10" in said
    assert "smaller than before" not in said


def test_what_is_impossible_is_said_and_shown(
    client_for: ClientFor, frag: Frag, grower: Person
) -> None:
    measure(frag, by=grower, days=1, area_mm2=300)
    said = words_on(client_for(Role.READER).get(path(frag.code_id)))
    assert "smaller than before by more than the measuring error" in said
    assert "−49 ± 2" in said


def test_what_was_photographed_is_measured_in_its_newest_photo(
    client_for: ClientFor, grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    (frag,) = cut(make_colony(grower), by=grower, days=10, pieces=1)
    photos = [file_photo(frag, data=make_picture(size=(s, s)), by=grower) for s in (40, 50)]
    newest = reverse("growth:measure", args=[photos[1].pk, photos[1].mark])
    client = client_for(Role.GROWER)
    with django_assert_max_num_queries(7):
        text = client.get(path(frag.code_id)).content.decode()
    assert "Measure the newest photo" in text
    assert newest in text
    assert newest not in client_for(Role.READER).get(path(frag.code_id)).content.decode()


def test_what_was_not_measured_says_how(client_for: ClientFor, grower: Person) -> None:
    (frag,) = cut(make_colony(grower), by=grower, days=30, pieces=1)
    said = words_on(client_for(Role.GROWER).get(path(frag.code_id)))
    assert "Not measured yet" in said
    assert "Rests on what is usual for SPS" in said


def test_what_is_ready_is_not_forecast(client_for: ClientFor, frag: Frag, grower: Person) -> None:
    grade([frag], by=grower, days=0)
    said = words_on(client_for(Role.READER).get(path(frag.code_id)))
    assert "chances in 10" not in said
    assert "1.54 ± 0.09" in said


def test_widths_and_heads_alone_have_no_picture(
    client_for: ClientFor, frag: Frag, grower: Person
) -> None:
    Measurement.objects.update(area_mm2=None, sigma_area_mm2=None, outline_mm=[], outline_px=[])
    measure(frag, by=grower, days=1, area_mm2=300)
    last = Measurement.objects.order_by("pk").last()
    Measurement.objects.filter(pk=last.pk if last else 0).update(
        area_mm2=None, sigma_area_mm2=None, diameter_mm=None, sigma_diameter_mm=None, heads=7
    )
    said = words_on(client_for(Role.READER).get(path(frag.code_id)))
    assert "In the same scale" not in said
    assert "Largest diameter, mm" in said
    assert "days since it was cut" in said


@pytest.mark.parametrize("many", [1, 8])
def test_the_page_asks_the_same_however_often_it_was_measured(
    client_for: ClientFor,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    many: int,
) -> None:
    (frag,) = cut(make_colony(grower), by=grower, days=100, pieces=1)
    for place in range(many):
        size = 100.0 * (place + 1)
        measure(frag, by=grower, days=80 - place, area_mm2=size, with_outline=True)
    client = client_for(Role.GROWER)
    client.get(path(frag.code_id))
    with django_assert_max_num_queries(6):
        text = client.get(path(frag.code_id)).content.decode()
    assert text.count("<image") == min(many, 6)


def test_a_picture_from_above_never_changes(client_for: ClientFor, frag: Frag) -> None:
    number = frag.measurements.all()[0].pk
    answer = client_for(Role.READER).get(reverse("growth:from_above", args=[number, 40]))
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Cache-Control"] == "private, max-age=31536000, immutable"
    with Image.open(BytesIO(answer.content)) as picture:
        assert picture.size == (480, 480)


@pytest.mark.parametrize("scale", [1, 4], ids=["phone crop", "large photo"])
def test_what_is_seen_from_above_is_true_to_size(scale: int) -> None:
    """A disc of 20 mm at a height covers the pixels of a disc of 20 mm, in the middle."""
    view = type(ABOVE)(
        **{
            **{name: getattr(ABOVE, name) for name in ("rotation", "translation", "scale")},
            "focal_px": ABOVE.focal_px * scale,
            "centre": (ABOVE.centre[0] * scale, ABOVE.centre[1] * scale),
            "sigma_scale": 0.0,
            "sigma_focal": 0.0,
        }
    )
    width, height = 640 * scale, 480 * scale
    across, down = np.meshgrid(np.arange(width), np.arange(height))
    places = view.to_plane(np.column_stack([across.ravel(), down.ravel()]), 15.0)
    inside = (10 - np.hypot(*(places - (5.0, -3.0)).T)) * view.px_per_mm((5.0, -3.0), 15.0) + 0.5
    pixels = np.zeros((height, width, 3), np.uint8)
    pixels[:, :, 0] = 255 * np.clip(inside, 0, 1).reshape(height, width)

    def unpack(box: tuple[int, int, int, int]) -> "np.ndarray[tuple[int, ...], np.dtype[np.uint8]]":
        left, top, right, bottom = box
        return np.asarray(pixels[top:bottom, left:right])

    data = seen_from_above(unpack, view, centre_mm=(5.0, -3.0), side_mm=40.0, height_mm=15.0)
    with Image.open(BytesIO(data)) as picture:
        red = np.asarray(picture)[:, :, 0].astype(float) / 255
    count = red.shape[0]
    assert float(red.sum()) * (40 / count) ** 2 == pytest.approx(math.pi * 100, rel=0.01)
    rows, columns = np.nonzero(red > 0.5)
    assert np.mean(columns) == pytest.approx((count - 1) / 2, abs=0.3)
    assert np.mean(rows) == pytest.approx((count - 1) / 2, abs=0.3)


def test_a_camera_below_cannot_have_seen_it() -> None:
    with pytest.raises(ValueError, match="cannot have seen"):
        seen_from_above(
            lambda box: np.zeros((9, 9, 3), np.uint8),
            ABOVE,
            centre_mm=(0, 0),
            side_mm=20,
            height_mm=301,
        )
    assert outline(100.0)


@pytest.mark.browser
def test_growth_on_a_phone(live_page: Page, frag: Frag) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(path(frag.code_id))
    expect(page.get_by_role("heading", name="In the same scale")).to_be_visible()
    expect(page.locator("svg image")).to_have_count(3)
    assert_accessible(page)
    assert_fits(page)
