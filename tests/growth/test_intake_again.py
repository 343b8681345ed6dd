"""Pictures that come in more than once, at once, or after something broke."""

import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from fraginv.base.errors import Conflict
from fraginv.base.models import Person, StoredFile
from fraginv.base.queries.files import missing_names, storage_for
from fraginv.base.rules.pictures import original_name, rendition_name
from fraginv.growth.actions import intake
from fraginv.growth.actions.intake import keep_incoming, open_batch, take_in, work_off
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.actions.tray import file_by_hand
from fraginv.growth.models import Incoming, Measurement, Photo
from fraginv.growth.queries.intake import incoming_differences, waiting_name
from fraginv.growth.queries.measuring import sized
from fraginv.growth.queries.photos import photo_differences
from fraginv.growth.queries.sights import subject_of
from fraginv.growth.rules.drawn import Drawn
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_frag
from tests.growth.labelled import labelled
from tests.together import together


@pytest.fixture(autouse=True)
def _stores(settings: Settings, tmp_path: Path) -> None:
    """Let files lie in a folder, where one that is there already keeps its name."""
    for name in ("default", "private"):
        kept = {**settings.STORAGES[name], "OPTIONS": {"location": tmp_path / name}}
        settings.STORAGES = {**settings.STORAGES, name: kept}


def agree() -> bool:
    return not [*stock_differences(), *photo_differences(), *incoming_differences()]


def spoil(file: StoredFile, how: str) -> None:
    """Let a kept picture's original go, be damaged, or a rendition go."""
    storage, original = (
        storage_for(private=False),
        original_name(file.sha256, media_type="image/jpeg"),
    )
    lost = rendition_name(file.sha256, size=600) if how == "rendition lost" else original
    storage.delete(lost)
    if how == "damaged":
        storage.save(original, ContentFile(b"something else"))


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("is_labelled", [True, False], ids=["with a label", "without"])
def test_the_same_picture_from_two_people_at_once_is_one(
    grower: Person, seller: Person, is_labelled: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    frag = make_frag(grower)
    data = labelled(*([frag.code_id] if is_labelled else []))
    rows = [
        keep_incoming(data, name="a.jpg", batch=open_batch(uuid.uuid4(), by=by)).pk
        for by in (grower, seller, grower)
    ]
    # Each looks before any other has settled it.
    monkeypatch.setattr(intake, "settle_known", late(intake.settle_known))
    together(work_off, on=rows)
    states = sorted(Incoming.objects.values_list("state", flat=True))
    assert states == (["filed"] * 3 if is_labelled else ["discarded"] * 2 + ["tray"])
    assert Photo.objects.count() == is_labelled
    assert frag.events.filter(kind="photographed").count() == is_labelled
    assert StoredFile.objects.count() == 1
    assert agree()


def late(settle_known: Callable[..., bool]) -> Callable[..., bool]:
    """Let whoever looks before anything is unpacked find nothing; later it finds what is there."""
    looked: set[int] = set()

    def look(incoming_id: int, *, sha256: str) -> bool:
        if incoming_id not in looked:
            looked.add(incoming_id)
            return False
        return settle_known(incoming_id, sha256=sha256)

    return look


@pytest.mark.parametrize("how", ["lost", "damaged", "rendition lost"])
@pytest.mark.parametrize("is_labelled", [True, False], ids=["filed", "in the tray"])
def test_a_picture_that_was_lost_in_the_store_is_mended_by_sending_it_again(
    grower: Person, how: str, is_labelled: bool
) -> None:
    frag = make_frag(grower)
    data = labelled(*([frag.code_id] if is_labelled else []))
    first = take_in(data, name="a.jpg", batch=open_batch(uuid.uuid4(), by=grower))
    assert first.file is not None
    spoil(first.file, how)
    assert not agree()
    again = take_in(data, name="a.jpg", batch=open_batch(uuid.uuid4(), by=grower))
    assert again.state == ("filed" if is_labelled else "discarded")
    assert not [*missing_names(first.file)]
    assert Photo.objects.count() == is_labelled
    assert agree()


def test_one_that_was_filed_by_hand_is_mended_and_stays_filed(grower: Person) -> None:
    first = take_in(labelled(), name="a.jpg", batch=open_batch(uuid.uuid4(), by=grower))
    file_by_hand(first.pk, subject=make_frag(grower), by=grower)
    assert first.file is not None
    spoil(first.file, "lost")
    again = take_in(labelled(), name="a.jpg", batch=open_batch(uuid.uuid4(), by=grower))
    assert (again.state, again.said) == ("filed", "The same picture was filed before.")
    assert agree()


def test_one_whose_bytes_were_gone_is_taken_when_it_is_sent_again(grower: Person) -> None:
    batch = open_batch(uuid.uuid4(), by=grower)
    row = keep_incoming(labelled(), name="a.jpg", batch=batch)
    storage_for(private=True).delete(waiting_name(row))
    work_off(row.pk)
    row.refresh_from_db()
    assert (row.state, "Send it again" in row.said) == ("refused", True)
    again = keep_incoming(labelled(), name="a.jpg", batch=batch)
    assert (again.pk, again.state, again.said) == (row.pk, "waiting", "")
    assert DBTaskResult.objects.count() == 2
    work_off(again.pk)
    assert Incoming.objects.get().state == "tray"


def test_what_a_killed_request_left_takes_nobodys_place(grower: Person) -> None:
    """SQLite gives the number of a row that was never committed to the next one."""
    batch, storage = open_batch(uuid.uuid4(), by=grower), storage_for(private=True)
    row = keep_incoming(labelled(), name="a.jpg", batch=batch)
    place, data = waiting_name(row), labelled()
    next_place = place.replace(f"/{row.pk}-", f"/{row.pk + 1}-")
    storage.save(next_place, ContentFile(data[:100]))
    other = open_batch(uuid.uuid4(), by=grower)
    again = keep_incoming(data, name="a.jpg", batch=other)
    assert waiting_name(again) == next_place
    work_off(again.pk)
    again.refresh_from_db()
    assert again.state == "tray"


def test_a_name_of_strange_bytes_is_no_hindrance(grower: Person) -> None:
    name = b"caf\xe9.jpg".decode(errors="surrogateescape")
    row = take_in(labelled(), name=name, batch=open_batch(uuid.uuid4(), by=grower))
    assert (row.state, row.name) == ("tray", "caf?.jpg")


@pytest.mark.django_db(transaction=True)
def test_taken_in_while_somebody_changes_the_frag_it_waits(
    grower: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    def overtaken(*args: Any, **rest: Any) -> None:
        raise Conflict("Somebody else has just changed it.")

    batch, frag = open_batch(uuid.uuid4(), by=grower), make_frag(grower)
    with monkeypatch.context() as patched:
        patched.setattr("fraginv.growth.actions.photos.note_photo", overtaken)
        row = take_in(labelled(frag.code_id), name="a.jpg", batch=batch)
    assert row.state == "waiting"
    work_off(row.pk)
    assert Photo.objects.get().frag == frag


@pytest.mark.django_db(transaction=True)
def test_two_people_who_file_one_picture_at_once_file_it_once(
    grower: Person, seller: Person
) -> None:
    row = take_in(labelled(), name="a.jpg", batch=open_batch(uuid.uuid4(), by=grower))
    frags = [make_frag(grower) for _ in range(4)]
    came = together(lambda frag: file_by_hand(row.pk, subject=frag, by=seller), on=frags)
    assert sorted(type(one).__name__ for one in came) == ["Conflict"] * 3 + ["Photo"]
    assert Photo.objects.count() == 1
    assert agree()


@pytest.mark.django_db(transaction=True)
def test_measured_and_taken_out_at_once_no_size_is_left(grower: Person) -> None:
    photo = file_photo(make_frag(grower), data=labelled(), by=grower)
    subject = subject_of(photo.pk, mark=photo.mark)
    heads = sized(subject, drawn=Drawn(heads_px=((9.0, 9.0),)))

    def do(is_out: bool) -> None:
        if is_out:
            take_out(photo.pk, by=grower)
        else:
            save_measurement(photo, sized=heads, by=grower)

    together(do, on=[False, True, False])
    assert not Photo.objects.exists()
    assert not Measurement.objects.filter(replaced_at=None).exists()
    assert agree()
