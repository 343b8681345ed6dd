"""Pictures taken in: kept at the door, worked off, settled once; real files, real rows."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.db import connection
from django_tasks_db.models import DBTaskResult
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person, StoredFile
from fraginv.base.pictures import prepare_picture
from fraginv.base.queries.files import read_original, storage_for
from fraginv.growth.actions import intake
from fraginv.growth.actions.clearing import ask_again, drop_leftovers
from fraginv.growth.actions.intake import (
    TooMany,
    keep_incoming,
    open_batch,
    take_in,
    work_off,
)
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.growth.queries.intake import incoming_differences, waiting_name
from fraginv.growth.queries.photos import photo_differences
from fraginv.growth.queries.tray import sums_of
from fraginv.growth.seeing.labels import labels_of_picture
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import fill_holes
from fraginv.stock.models import Frag, Rack
from fraginv.stock.queries.differences import stock_differences
from tests.base.test_pictures import make_heic, make_picture, opened
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.growth.labelled import labelled
from tests.growth.scenes.draws import pair_scene
from tests.growth.scenes.render import photograph
from tests.refusing import refused
from tests.trade.rows import open_shop

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
UNKNOWN = "7K3Q9FN"


@pytest.fixture
def batch(grower: Person, frozen: None) -> Batch:
    return open_batch(uuid.uuid4(), by=grower)


@pytest.fixture
def rack(grower: Person, frozen: None) -> Rack:
    """A rack with four frags in its first holes."""
    rack = make_rack(grower)
    frags = make_frags(grower, 4, colony=make_colony(grower))
    fill_holes([frag.pk for frag in frags], rack=rack, by=grower)
    return rack


def codes_in(rack: Rack) -> list[str]:
    return list(rack.frags.order_by("hole_row", "hole_column").values_list("code_id", flat=True))


def there(row: Incoming) -> bool:
    return storage_for(private=True).exists(waiting_name(row))


def agree() -> bool:
    return not [*stock_differences(), *photo_differences(), *incoming_differences()]


def test_one_label_is_filed_at_once(grower: Person, batch: Batch) -> None:
    frag = make_frag(grower)
    row = take_in(labelled(frag.code_id, taken="2026:11:25 11:00:00"), name="a.jpg", batch=batch)
    assert (row.state, row.why, row.said) == ("filed", "", "")
    photo = Photo.objects.get()
    assert (photo.frag, photo.by, photo.file) == (frag, grower, row.file)
    assert photo.taken_at == row.taken_at == datetime(2026, 11, 25, 16, tzinfo=UTC)
    assert [label["code"] for label in row.labels] == [frag.code_id]
    assert frag.events.get(kind="photographed").body == {"photo": photo.pk}
    assert agree()


def test_a_label_that_cannot_be_read_beside_its_own_asks_a_person(
    grower: Person, batch: Batch
) -> None:
    one, other = make_frags(grower, 2)
    pair = (one.code_id, other.code_id)
    shot = photograph(pair_scene(7, pair=pair, algae=0.55))
    row = take_in(shot.jpeg(), name="a.jpg", batch=batch)
    assert (row.state, row.why) == ("tray", "unread-label")
    assert not Photo.objects.exists()
    assert agree()


def test_a_colony_is_filed_at_once(grower: Person, batch: Batch) -> None:
    colony = make_colony(grower)
    assert take_in(labelled(colony.code_id), name="a.jpg", batch=batch).state == "filed"
    assert Photo.objects.get().colony == colony


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_pictures_of_every_kind_come_in(grower: Person, batch: Batch, kind: str) -> None:
    row = take_in(make_picture(kind=kind), name=f"a.{kind}", batch=batch)
    assert (row.state, row.why) == ("tray", "no-label")


def test_heic_comes_in(batch: Batch) -> None:
    assert take_in(make_heic(), name="IMG_1.HEIC", batch=batch).why == "no-label"


def test_several_labels_are_a_photo_of_their_rack_and_each_frag_has_its_part(
    grower: Person, batch: Batch, rack: Rack
) -> None:
    codes = codes_in(rack)
    data = labelled(*codes, size=(1000, 700))
    row = take_in(data, name="a.jpg", batch=batch)
    assert row.state == "filed"
    whole = Photo.objects.get(rack=rack)
    assert whole.file == row.file
    parts = Photo.objects.filter(part_of=whole).order_by("left")
    assert [part.frag.code_id for part in parts if part.frag] == codes
    for part, label in zip(parts, row.labels, strict=True):
        x = sum(corner[0] for corner in label["corners"]) / 4
        assert part.left is not None
        assert part.file.width is not None
        assert part.left < x < part.left + part.file.width
    first = parts[0]
    cut, left, top = opened(read_original(first.file)), first.left or 0, first.top or 0
    there = opened(data).crop((left, top, left + cut.width, top + cut.height))
    apart = [abs(a - b) for a, b in zip(cut.tobytes(), there.tobytes(), strict=True)]
    assert sum(apart) / len(apart) < 1
    assert agree()


def test_a_racks_own_label_says_the_rack(grower: Person, batch: Batch, rack: Rack) -> None:
    row = take_in(labelled(rack.code_id, *codes_in(rack)[:1]), name="a.jpg", batch=batch)
    assert row.state == "filed"
    assert Photo.objects.filter(rack=rack).exists()
    assert Photo.objects.filter(frag__code=codes_in(rack)[0], part_of__rack=rack).exists()


def test_where_it_was_taken_is_believed_where_labels_tell_no_rack(
    grower: Person, rack: Rack
) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 2, colony=make_colony(grower))]
    batch = open_batch(uuid.uuid4(), by=grower, rack=rack)
    assert take_in(labelled(*codes), name="a.jpg", batch=batch).state == "filed"
    assert Photo.objects.filter(rack=rack, part_of=None).count() == 1
    loose = open_batch(uuid.uuid4(), by=grower)
    assert take_in(labelled(*codes, seed=1), name="b.jpg", batch=loose).why == "several-labels"


@pytest.mark.parametrize(
    ("labels", "why"),
    [
        ([], "no-label"),
        (["HTTPS://SHOP.TEST/ITEM/12345678"], "foreign-code"),
        ([UNKNOWN], "unknown-code"),
    ],
    ids=["none", "of another system", "unknown"],
)
def test_what_nobody_can_file_lies_in_the_tray(batch: Batch, labels: list[str], why: str) -> None:
    row = take_in(labelled(*labels), name="a.jpg", batch=batch)
    assert (row.state, row.why) == ("tray", why)
    assert row.file is not None
    assert row.said
    assert not Photo.objects.exists()
    assert agree()


def test_the_same_code_twice_is_not_believed(grower: Person, batch: Batch) -> None:
    code = make_frag(grower).code_id
    row = take_in(labelled(code, f"https://other.test/T/{code}"), name="a.jpg", batch=batch)
    assert (row.state, row.why) == ("tray", "code-twice")


def test_two_frags_and_one_label_that_can_be_read(grower: Person, batch: Batch) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 2, colony=make_colony(grower))]
    row = take_in(labelled(*codes, spoilt=codes[1:]), name="a.jpg", batch=batch)
    assert (row.state, row.why) == ("tray", "unread-label")
    assert "may show two pieces" in row.said
    assert not Photo.objects.exists()


def test_two_labels_of_which_one_belongs_to_nothing(grower: Person, batch: Batch) -> None:
    data = labelled(make_frag(grower).code_id, UNKNOWN)
    row = take_in(data, name="a.jpg", batch=batch)
    assert (row.state, row.why) == ("tray", "two-labels")


def test_a_photo_of_what_was_lost_is_kept_and_said(grower: Person, batch: Batch) -> None:
    frag = make_frag(grower)
    record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    row = take_in(labelled(frag.code_id), name="a.jpg", batch=batch)
    assert row.state == "filed"
    assert "is lost already" in row.said
    assert Photo.objects.get().frag == frag


def test_a_photo_of_what_was_sold_is_kept_and_said(
    people: People, grower: Person, batch: Batch
) -> None:
    shop = open_shop(people)
    lot = shop.priced_lot(1)
    shop.sell(lot, 1, paid=1063)
    row = take_in(labelled(lot.code_id), name="a.jpg", batch=batch)
    assert row.state == "filed"
    assert "is sold already" in row.said
    assert Photo.objects.get().frag == lot


@pytest.mark.parametrize("taken", ["1970:01:01 00:00:10", "2026:11:26 18:00:00"])
def test_a_day_that_cannot_be_is_not_believed(grower: Person, batch: Batch, taken: str) -> None:
    row = take_in(labelled(make_frag(grower).code_id, taken=taken), name="a.jpg", batch=batch)
    assert row.state == "filed"
    assert "came in" in row.said
    assert row.taken_at is None
    assert (Photo.objects.get().taken_at, Photo.objects.get().taken_on) == (NOW, date(2026, 11, 25))


def test_a_screenshot_is_filed_and_said(grower: Person, batch: Batch) -> None:
    row = take_in(labelled(make_frag(grower).code_id), name="a.png", batch=batch)
    assert row.state == "filed"
    assert "names no camera" in row.said


def test_broken_ones_are_refused_and_the_others_go_on(grower: Person, batch: Batch) -> None:
    frag = make_frag(grower)
    whole = labelled(frag.code_id)
    rows = [
        keep_incoming(data, name=f"{number}.jpg", batch=batch)
        for number, data in enumerate([b"%PDF-1.7", whole[: len(whole) // 2], whole, b""])
    ]
    assert [row.state for row in rows] == ["refused", "waiting", "waiting", "refused"]
    assert not there(rows[0])
    for row in rows:
        work_off(row.pk)
        row.refresh_from_db()
    assert [row.state for row in rows] == ["refused", "refused", "filed", "refused"]
    assert "a PDF" in rows[0].said
    assert "damaged or not whole" in rows[1].said
    assert "is empty" in rows[3].said
    assert agree()


def test_the_bytes_wait_until_it_is_settled_and_go_then(
    grower: Person, batch: Batch, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    row = keep_incoming(labelled(make_frag(grower).code_id), name="a.jpg", batch=batch)
    assert there(row)
    assert DBTaskResult.objects.get().args_kwargs["kwargs"] == {"incoming_id": row.pk}
    with django_capture_on_commit_callbacks(execute=True):
        work_off(row.pk)
    assert not there(row)


def test_worked_off_twice_is_once(grower: Person, batch: Batch, rack: Rack) -> None:
    row = keep_incoming(labelled(*codes_in(rack)), name="a.jpg", batch=batch)
    work_off(row.pk)
    photos, files = Photo.objects.count(), StoredFile.objects.count()
    work_off(row.pk)
    assert (Photo.objects.count(), StoredFile.objects.count()) == (photos, files) == (5, 5)


def test_bytes_that_are_gone_are_said(batch: Batch) -> None:
    row = keep_incoming(labelled(), name="a.jpg", batch=batch)
    storage_for(private=True).delete(waiting_name(row))
    work_off(row.pk)
    row.refresh_from_db()
    assert (row.state, row.why) == ("refused", "bytes-gone")


def test_the_same_picture_twice_in_a_batch_is_one(batch: Batch) -> None:
    rows = {keep_incoming(labelled(), name="a.jpg", batch=batch).pk for _ in range(2)}
    assert len(rows) == DBTaskResult.objects.count() == 1


def test_a_picture_that_was_sent_twice_says_so_whenever_it_was(
    grower: Person, batch: Batch
) -> None:
    data = labelled(make_frag(grower).code_id)
    row = keep_incoming(data, name="a.jpg", batch=batch)
    for name in ("twice.jpg", "twice.jpg", "a.jpg"):
        keep_incoming(data, name=name, batch=batch)
    work_off(row.pk)
    row.refresh_from_db()
    said = "Sent twice, also as twice.jpg; kept once. Sent twice; kept once."
    assert row.state == "filed"
    assert row.said.startswith(said)
    assert keep_incoming(data, name="c.jpg", batch=batch).said.endswith("also as c.jpg; kept once.")
    for name in ("bad.jpg", "worse.jpg"):
        bad = keep_incoming(b"%PDF-1.7", name=name, batch=batch)
    assert bad.said.endswith("Sent twice, also as worse.jpg; kept once.")
    sums = sums_of(batch)
    assert (sums.all, sums.filed, sums.refused, sums.twice) == (2, 1, 1, 2)


def test_the_same_picture_in_another_batch_is_said(grower: Person, batch: Batch) -> None:
    frag = make_frag(grower)
    data, strange = labelled(frag.code_id), labelled()
    take_in(data, name="a.jpg", batch=batch)
    take_in(strange, name="b.jpg", batch=batch)
    again = open_batch(uuid.uuid4(), by=grower)
    one = take_in(data, name="a.jpg", batch=again)
    other = take_in(strange, name="b.jpg", batch=again)
    assert (one.state, one.said) == ("filed", "The same picture was filed before.")
    assert (other.state, other.settled_by) == ("discarded", None)
    assert "in the tray already" in other.said
    assert StoredFile.objects.count() == 2
    assert frag.events.filter(kind="photographed").count() == 1


def test_a_batch_is_one_persons(seller: Person, batch: Batch) -> None:
    with refused("Somebody else sent these", error=Conflict):
        open_batch(batch.key, by=seller)
    assert open_batch(batch.key, by=batch.by) == batch


def test_so_many_may_wait(batch: Batch, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(intake, "MOST_WAITING", 2)
    for seed in range(2):
        keep_incoming(labelled(seed=seed), name="a.jpg", batch=batch)
    with refused("2 pictures wait to be read", error=TooMany):
        keep_incoming(labelled(seed=2), name="a.jpg", batch=batch)
    monkeypatch.setattr(intake, "MOST_WAITING", 9)
    monkeypatch.setattr(intake, "MOST_IN_A_BATCH", 2)
    with pytest.raises(Conflict, match="2 pictures came in one go") as full:
        keep_incoming(labelled(seed=2), name="a.jpg", batch=batch)
    assert full.value.status == 409, "a script that waits for room would wait for ever"


def test_what_waits_too_long_is_asked_for_again(batch: Batch) -> None:
    keep_incoming(labelled(), name="a.jpg", batch=batch)
    DBTaskResult.objects.all().delete()
    assert ask_again() == 0
    with clock.at(NOW + timedelta(hours=7)):
        assert ask_again() == 1
    assert DBTaskResult.objects.count() == 1


def test_what_a_killed_request_left_is_cleared_away(
    batch: Batch, tmp_path: Path, settings: Settings
) -> None:
    private = {**settings.STORAGES["private"], "OPTIONS": {"location": tmp_path}}
    settings.STORAGES = {**settings.STORAGES, "private": private}
    assert drop_leftovers() == 0
    storage = storage_for(private=True)
    row = keep_incoming(labelled(), name="a.jpg", batch=batch)
    before = f"incoming/{row.pk - 1}-{'0' * 64}"
    later = f"incoming/{row.pk + 7}-{'0' * 64}"
    for name in (before, later):
        storage.save(name, ContentFile(b"left"))
    with clock.at(NOW + timedelta(hours=30)):
        assert drop_leftovers() == 1
    assert not storage.exists(before)
    assert storage.exists(later), "a request may be writing its row down just now"
    assert there(row)


@pytest.mark.django_db(transaction=True)
def test_nothing_is_locked_while_a_picture_is_unpacked_and_read(
    grower: Person, rack: Rack, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = open_batch(uuid.uuid4(), by=grower)
    locked: list[bool] = []

    def watched(what: Callable[..., Any]) -> Callable[..., Any]:
        def look(*args: Any, **rest: Any) -> Any:
            locked.append(connection.in_atomic_block)
            return what(*args, **rest)

        return look

    monkeypatch.setattr("fraginv.base.actions.files.prepare_picture", watched(prepare_picture))
    reading = "fraginv.growth.actions.intake.labels_of_picture"
    monkeypatch.setattr(reading, watched(labels_of_picture))
    codes = codes_in(rack)
    assert take_in(labelled(*codes), name="a.jpg", batch=batch).state == "filed"
    assert locked == [False] * (2 + len(codes))


@pytest.mark.django_db(transaction=True)
def test_when_a_frag_was_changed_meanwhile_it_waits_as_before(
    grower: Person, frozen: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch, frag = open_batch(uuid.uuid4(), by=grower), make_frag(grower)
    row = keep_incoming(labelled(frag.code_id), name="a.jpg", batch=batch)

    def overtaken(*args: Any, **rest: Any) -> None:
        raise Conflict("Somebody else has just changed it.")

    with monkeypatch.context() as patched:
        patched.setattr("fraginv.growth.actions.photos.note_photo", overtaken)
        with pytest.raises(Conflict):
            work_off(row.pk)
    row.refresh_from_db()
    assert row.state == "waiting"
    assert there(row)
    assert not Photo.objects.exists()
    assert not StoredFile.objects.exists()
    work_off(row.pk)
    assert Photo.objects.get().frag == Frag.objects.get(pk=frag.pk)
    assert not there(row)
