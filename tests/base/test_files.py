"""Keeping pictures: real files on a disk, real rows."""

import hashlib
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.actions.files import store_picture
from fraginv.base.actions.prints import make_prints
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Organisation, StoredFile
from fraginv.base.pictures import inspect_picture, prepare_picture
from fraginv.base.queries.files import (
    damaged_names,
    missing_names,
    read_original,
    read_rendition,
    rendition_source,
    storage_for,
)
from fraginv.base.rules.pictures import PRINT_SIZE, original_name, rendition_name
from fraginv.base.transactions import one_transaction, undo_on_failure
from tests.base.test_pictures import SECRET, make_picture

ALL = ["1600.jpg", "240.jpg", "320.jpg", "600.jpg", "original.jpg"]
NOON = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, settings: Settings, organisation: Organisation) -> Path:
    """Keep each test's files in a folder of its own."""
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {**settings.STORAGES["default"], "OPTIONS": {"location": tmp_path / "media"}},
        "private": {**settings.STORAGES["private"], "OPTIONS": {"location": tmp_path / "private"}},
    }
    return tmp_path


def files_in(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.rglob("*") if file.is_file())


def test_a_picture_is_kept_under_the_hash_of_what_came_in(home: Path) -> None:
    data = make_picture(taken="2026:11:25 09:30:00", place=True, orientation=6)
    with clock.at(NOON):
        file = store_picture(data)
    assert file.sha256 == hashlib.sha256(data).hexdigest()
    assert (file.media_type, file.size_bytes) == ("image/jpeg", len(data))
    assert (file.width, file.height) == (40, 64)
    assert (file.stored_at, file.private) == (NOON, False)
    # Eastern standard time is UTC-5 in November (IANA time zone database).
    assert file.taken_at == datetime(2026, 11, 25, 14, 30, tzinfo=UTC)
    assert file.focal_length_mm == Decimal("4.25")
    assert files_in(home / "media") == ALL
    assert SECRET not in b"".join(f.read_bytes() for f in home.rglob("*") if f.is_file())


def test_what_was_kept_reads_back() -> None:
    file = store_picture(make_picture(size=(700, 350)))
    original = inspect_picture(read_original(file))
    small = inspect_picture(read_rendition(file, size=240))
    assert (original.width, original.height) == (700, 350)
    assert (small.width, small.height) == (240, 120)
    place = rendition_source(file, size=240)
    assert isinstance(place, Path)
    assert place.read_bytes() == read_rendition(file, size=240)


def test_a_size_that_is_not_made_is_refused() -> None:
    with pytest.raises(InputError, match="Ask for one of 240, 320, 600, 1600"):
        read_rendition(store_picture(make_picture()), size=500)


def test_the_same_picture_is_kept_once(home: Path) -> None:
    first = store_picture(make_picture())
    assert store_picture(make_picture()) == first
    assert StoredFile.objects.count() == 1
    assert files_in(home) == ALL


def test_private_pictures_lie_apart(home: Path) -> None:
    file = store_picture(make_picture(), private=True)
    assert file.private
    assert files_in(home / "private") == ALL
    assert not (home / "media").exists()


@pytest.mark.parametrize("first", [True, False])
def test_one_picture_is_never_private_and_public(first: bool) -> None:
    store_picture(make_picture(), private=first)
    with pytest.raises(Conflict, match="Take another picture"):
        store_picture(make_picture(), private=not first)


def test_a_refused_picture_leaves_neither_row_nor_file(home: Path) -> None:
    with pytest.raises(InputError, match="a PDF"):
        store_picture(b"%PDF-1.7")
    assert not StoredFile.objects.exists()
    assert not files_in(home)


@pytest.mark.django_db(transaction=True)
def test_when_the_action_around_it_fails_row_and_files_go(home: Path) -> None:
    @one_transaction
    def file_it_and_fail() -> None:
        store_picture(make_picture())
        assert files_in(home) == ALL
        raise InputError("No such frag.")

    with pytest.raises(InputError, match="No such frag"):
        file_it_and_fail()
    assert not StoredFile.objects.exists()
    assert not files_in(home)


@pytest.mark.django_db(transaction=True)
def test_a_failing_repeat_leaves_what_was_kept_before(home: Path) -> None:
    @one_transaction
    def file_it_and_fail() -> None:
        store_picture(make_picture())
        raise InputError("No such frag.")

    store_picture(make_picture())
    with pytest.raises(InputError, match="No such frag"):
        file_it_and_fail()
    assert StoredFile.objects.count() == 1
    assert files_in(home) == ALL


def test_undoing_has_no_meaning_outside_an_action() -> None:
    with pytest.raises(RuntimeError, match="inside an action"):
        undo_on_failure(lambda: None)


def test_a_missing_file_is_named_and_mended_by_sending_it_again(home: Path) -> None:
    file = store_picture(make_picture())
    assert not list(missing_names(file))
    lost = next(home.rglob("240.jpg"))
    lost.unlink()
    assert list(missing_names(file)) == [lost.relative_to(home / "media").as_posix()]
    with pytest.raises(NotFound, match="missing in the storage"):
        read_rendition(file, size=240)
    with pytest.raises(NotFound, match="missing in the storage"):
        rendition_source(file, size=240)
    store_picture(make_picture())
    assert not list(missing_names(file))


@pytest.mark.parametrize("name", ["240.jpg", "original.jpg"])
def test_a_file_cut_to_nothing_is_named_and_mended_by_sending_it_again(
    home: Path, name: str
) -> None:
    file = store_picture(make_picture())
    assert not list(damaged_names(file))
    cut = next(home.rglob(name))
    whole = cut.read_bytes()
    cut.write_bytes(b"")
    assert list(damaged_names(file)) == [cut.relative_to(home / "media").as_posix()]
    store_picture(make_picture())
    assert not list(damaged_names(file))
    assert cut.read_bytes() == whole
    assert files_in(home) == ALL


def test_an_original_that_was_changed_is_named(home: Path) -> None:
    file = store_picture(make_picture())
    kept = next(home.rglob("original.jpg"))
    assert file.kept_sha256 == hashlib.sha256(kept.read_bytes()).hexdigest()
    kept.write_bytes(kept.read_bytes()[:-1] + b"x")
    assert list(damaged_names(file)) == [kept.relative_to(home / "media").as_posix()]


def test_sending_again_writes_down_the_hash_of_what_it_wrote(home: Path) -> None:
    file = store_picture(make_picture())
    StoredFile.objects.update(kept_sha256="0" * 64)
    assert store_picture(make_picture()).kept_sha256 == file.kept_sha256
    file.refresh_from_db()
    assert not list(damaged_names(file))


def before_prints(data: bytes) -> StoredFile:
    """Keep a picture as it was kept before there was a size for papers."""
    file = store_picture(data)
    name = rendition_name(file.sha256, size=PRINT_SIZE)
    storage_for(private=False).delete(name)
    StoredFile.objects.filter(pk=file.pk).update(has_print=False)
    return file


def test_older_pictures_get_a_size_for_papers_in_portions(home: Path) -> None:
    data = make_picture(size=(900, 500), orientation=6)
    first, second = before_prints(data), before_prints(make_picture(size=(50, 40)))
    assert files_in(home / "media").count("320.jpg") == 0
    assert make_prints(limit=1) == 1
    first.refresh_from_db()
    assert first.has_print
    fresh = prepare_picture(data).renditions[PRINT_SIZE]
    assert read_rendition(first, size=PRINT_SIZE) == fresh
    assert make_prints(limit=9) == 1
    assert make_prints(limit=9) == 0
    second.refresh_from_db()
    assert not list(missing_names(second))


def test_one_without_its_original_is_left_as_it_is(home: Path) -> None:
    file, whole = before_prints(make_picture()), before_prints(make_picture(size=(50, 40)))
    storage_for(private=False).delete(original_name(file.sha256, media_type=file.media_type))
    assert make_prints(limit=9) == 1
    file.refresh_from_db()
    whole.refresh_from_db()
    assert (file.has_print, whole.has_print) == (False, True)
