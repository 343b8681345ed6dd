"""Filing photos: real files, real rows."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person, StoredFile
from fraginv.base.pictures import prepare_picture
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.stock.models import Frag
from fraginv.stock.queries.differences import stock_differences
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_variety

LATE = datetime(2026, 11, 26, 3, 30, tzinfo=UTC)  # still the 25th in New York


def test_a_frags_photo_is_filed_and_its_log_says_so(grower: Person) -> None:
    frag = make_frag(grower)
    with clock.at(LATE):
        photo = file_photo(
            frag, data=make_picture(), by=grower, caption="  Under  the\nblue light "
        )
    frag.refresh_from_db()
    event = frag.events.get(seq=frag.last_seq)
    assert (event.kind, event.body) == ("photographed", {"photo": photo.pk})
    assert photo.frag == frag
    assert (photo.taken_at, photo.taken_on) == (LATE, date(2026, 11, 25))
    assert photo.caption == "Under the blue light"
    assert not list(stock_differences())


def test_colonies_and_varieties_have_photos_of_their_own(grower: Person) -> None:
    colony = make_colony(grower)
    of_colony = file_photo(colony, data=make_picture(size=(50, 50)), by=grower)
    of_variety = file_photo(colony.variety, data=make_picture(size=(51, 51)), by=grower)
    assert (of_colony.colony, of_colony.frag, of_colony.variety) == (colony, None, None)
    assert (of_variety.variety, of_variety.colony) == (colony.variety, None)


def test_the_moment_the_picture_names_is_kept(grower: Person) -> None:
    data = make_picture(taken="2026:03:01 23:30:00")
    with clock.at(LATE):
        photo = file_photo(make_frag(grower), data=data, by=grower)
    assert photo.taken_on == date(2026, 3, 1)
    assert photo.filed_at == LATE


def test_a_camera_whose_clock_is_ahead_does_not_date_into_the_future(grower: Person) -> None:
    data = make_picture(taken="2031:01:01 08:00:00")
    with clock.at(LATE):
        photo = file_photo(make_frag(grower), data=data, by=grower)
    assert photo.taken_at == LATE


def test_the_same_picture_again_changes_nothing(grower: Person) -> None:
    frag = make_frag(grower)
    first = file_photo(frag, data=make_picture(), by=grower)
    before = frag.events.count()
    assert file_photo(frag, data=make_picture(), by=grower) == first
    assert frag.events.count() == before


def test_one_picture_may_show_two_frags(grower: Person) -> None:
    for frag in (make_frag(grower), make_frag(grower)):
        file_photo(frag, data=make_picture(), by=grower)
    assert Photo.objects.count() == 2
    assert StoredFile.objects.count() == 1


def test_a_refused_picture_leaves_nothing(grower: Person) -> None:
    frag = make_frag(grower)
    with pytest.raises(InputError, match="a PDF"):
        file_photo(frag, data=b"%PDF-1.7", by=grower)
    frag.refresh_from_db()
    assert frag.last_seq == 1
    assert not Photo.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_when_the_log_cannot_be_written_row_and_files_go(
    grower: Person, tmp_path: Path, settings: Settings
) -> None:
    default = {**settings.STORAGES["default"], "OPTIONS": {"location": tmp_path}}
    settings.STORAGES = {**settings.STORAGES, "default": default}
    frag = make_frag(grower)
    Frag.objects.filter(pk=frag.pk).update(last_seq=7)  # a row that somebody spoilt
    Frag.objects.get(pk=frag.pk).events.model.objects.create(**event_like(frag, seq=8))
    with pytest.raises((Conflict, IntegrityError)):
        file_photo(frag, data=make_picture(), by=grower)
    assert not Photo.objects.exists()
    assert not StoredFile.objects.exists()
    assert not [file for file in tmp_path.rglob("*") if file.is_file()]


def event_like(frag: Frag, *, seq: int) -> dict[str, object]:
    """Return the fields of an event that stands where the next one should."""
    first = frag.events.get(seq=1)
    fields = ("frag", "kind", "at", "recorded_at", "day", "month", "by", "body", "digest")
    return {name: getattr(first, name) for name in fields} | {"seq": seq}


@pytest.mark.parametrize("subjects", [(), ("frag", "variety"), ("frag", "colony", "variety")])
def test_the_database_wants_exactly_one_subject(grower: Person, subjects: tuple[str, ...]) -> None:
    photo = file_photo(make_variety(grower), data=make_picture(), by=grower)
    frag = make_frag(grower)
    wanted = {"frag": frag, "colony": frag.colony, "variety": frag.variety}
    rows = Photo.objects.filter(pk=photo.pk)
    with pytest.raises(IntegrityError, match="photo_has_one_subject"), transaction.atomic():
        rows.update(**{name: wanted[name] if name in subjects else None for name in wanted})
    assert rows.update(frag=frag, variety=None) == 1


def test_taken_before_it_was_filed(grower: Person) -> None:
    with clock.at(LATE):
        first = file_photo(make_frag(grower), data=make_picture(), by=grower)
    with clock.at(LATE + timedelta(days=1)):
        again = file_photo(make_frag(grower), data=make_picture(), by=grower)
    assert again.taken_at - first.taken_at == timedelta(days=1)


def test_a_photo_of_an_earlier_day_is_no_look_at_the_frag_today(grower: Person) -> None:
    with clock.at(LATE - timedelta(days=30)):
        frag = make_frag(grower)
    seen_on = Frag.objects.get(pk=frag.pk).seen_on
    with clock.at(LATE):
        file_photo(frag, data=make_picture(taken="2026:11:20 12:00:00"), by=grower)
        assert Frag.objects.get(pk=frag.pk).seen_on == seen_on
        assert frag.events.get(seq=2).body["unseen"] is True
        file_photo(frag, data=make_picture(taken="2026:11:25 12:00:00"), by=grower)
    assert Frag.objects.get(pk=frag.pk).seen_on == date(2026, 11, 25)
    assert not list(stock_differences())


@pytest.mark.django_db(transaction=True)
def test_nothing_is_locked_while_a_picture_is_unpacked(
    grower: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    locked = []

    def look(data: bytes, **rest: Any) -> Any:
        locked.append(connection.in_atomic_block)
        return prepare_picture(data, **rest)

    monkeypatch.setattr("fraginv.base.actions.files.prepare_picture", look)
    file_photo(make_frag(grower), data=make_picture(), by=grower)
    assert locked == [False]
