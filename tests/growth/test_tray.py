"""Filing by hand what came in: in the tray, out of it, and what is proposed."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django_tasks_db.models import DBTaskResult
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.growth.actions.intake import open_batch, take_in
from fraginv.growth.actions.parts import keep_parts
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.actions.tray import cut_out_later, discard, file_by_hand, take_back
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.growth.queries import proposals
from fraginv.growth.queries.intake import incoming_differences, photographed
from fraginv.growth.queries.photos import photo_differences
from fraginv.growth.queries.proposals import proposals_for
from fraginv.growth.queries.tray import (
    count_in_tray,
    get_incoming,
    latest_batches,
    next_in_tray,
    pictures_of,
    shown,
    sums_of,
    tray,
)
from fraginv.stock.actions.looks import mark_seen
from fraginv.stock.actions.moving import fill_holes
from fraginv.stock.models import Frag, Rack
from fraginv.stock.queries.differences import stock_differences
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.growth.labelled import exif_time, labelled
from tests.refusing import refused

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
NEW_YORK = timedelta(hours=5)
pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def batch(grower: Person) -> Batch:
    return open_batch(uuid.uuid4(), by=grower)


@pytest.fixture
def frags(grower: Person) -> list[Frag]:
    """Six frags in the first holes of a rack."""
    with clock.at(NOW - timedelta(days=1)):
        rack = make_rack(grower)
        made = make_frags(grower, 6, colony=make_colony(grower))
        fill_holes([frag.pk for frag in made], rack=rack, by=grower)
    order = ("hole_row", "hole_column")
    return list(Frag.objects.filter(rack=rack).select_related("rack").order_by(*order))


def came(batch: Batch, *labels: str, seconds: int = 0, seed: int = 0) -> Incoming:
    """Take a picture in that was taken so many seconds before noon."""
    taken = exif_time(NOW - NEW_YORK - timedelta(seconds=seconds))
    data = labelled(*labels, taken=taken, seed=seed)
    return get_incoming(take_in(data, name=f"{seed}.jpg", batch=batch).pk)


def agree() -> bool:
    return not [*stock_differences(), *photo_differences(), *incoming_differences()]


def test_a_picture_is_filed_by_hand(grower: Person, seller: Person, batch: Batch) -> None:
    row, frag = came(batch), make_frag(grower)
    photo = file_by_hand(row.pk, subject=frag, by=seller)
    row.refresh_from_db()
    assert (row.state, row.why, row.said, row.settled_by) == ("filed", "", "", seller)
    assert (photo.frag, photo.by) == (frag, seller)
    assert agree()


def test_it_is_filed_once(grower: Person, batch: Batch) -> None:
    row, frag = came(batch), make_frag(grower)
    file_by_hand(row.pk, subject=frag, by=grower)
    for again in (
        lambda: file_by_hand(row.pk, subject=make_frag(grower), by=grower),
        lambda: discard(row.pk, by=grower),
        lambda: take_back(row.pk, by=grower),
    ):
        with refused("somebody filed it|is filed", error=Conflict):
            again()
    assert Photo.objects.count() == 1


def test_filed_from_the_frags_own_page_it_leaves_the_tray(grower: Person, batch: Batch) -> None:
    frag = make_frag(grower)
    row = get_incoming(take_in(make_picture(), name="a.jpg", batch=batch).pk)
    photo = file_photo(frag, data=make_picture(), by=grower)
    row.refresh_from_db()
    assert (row.state, row.file, row.settled_by) == ("filed", photo.file, grower)
    assert count_in_tray() == 0


def test_thrown_away_and_taken_back(grower: Person, batch: Batch) -> None:
    row = came(batch)
    assert discard(row.pk, by=grower).state == "discarded"
    assert count_in_tray() == 0
    assert take_back(row.pk, by=grower).state == "tray"
    assert count_in_tray() == 1


def test_what_was_never_thrown_away_by_hand_stays_where_it_is(grower: Person, batch: Batch) -> None:
    row = came(batch)
    again = came(open_batch(uuid.uuid4(), by=grower))
    assert again.state == "discarded"
    file_by_hand(row.pk, subject=make_frag(grower), by=grower)
    with refused("is filed", error=Conflict):
        take_back(again.pk, by=grower)


def test_a_rack_chosen_by_hand_gives_its_frags_their_parts(
    grower: Person, batch: Batch, frags: list[Frag]
) -> None:
    loose = make_frags(grower, 2, colony=make_colony(grower))
    row = came(batch, frags[0].code_id, *(frag.code_id for frag in loose))
    assert row.why == "several-labels"
    whole = file_by_hand(row.pk, subject=rack_of(frags), by=grower)
    task = DBTaskResult.objects.latest("enqueued_at")
    assert task.task_path.endswith("cut_out_later")
    for _ in range(2):
        cut_out_later.call(**task.args_kwargs["kwargs"])
    parts = Photo.objects.filter(part_of=whole)
    assert {part.frag_id for part in parts} == {frags[0].pk, *(frag.pk for frag in loose)}
    assert agree()


def test_no_part_is_cut_out_where_a_code_stands_twice(
    grower: Person, batch: Batch, frags: list[Frag]
) -> None:
    twice, once = frags[0].code_id, make_frag(grower).code_id
    other = make_rack(grower).code_id
    labels = (twice, f"https://other.test/T/{twice}", once, rack_of(frags).code_id, other)
    row = came(batch, *labels)
    assert row.why == "two-racks"
    whole = file_by_hand(row.pk, subject=rack_of(frags), by=grower)
    cut_out_later.call(photo_id=whole.pk, incoming_id=row.pk)
    assert [part.frag.code_id for part in Photo.objects.filter(part_of=whole) if part.frag] == [
        once
    ]


def test_nothing_is_cut_out_of_what_was_taken_out_meanwhile(
    grower: Person, batch: Batch, frags: list[Frag], monkeypatch: pytest.MonkeyPatch
) -> None:
    loose = make_frags(grower, 2, colony=make_colony(grower))
    row = came(batch, *(frag.code_id for frag in loose))
    whole = file_by_hand(row.pk, subject=rack_of(frags), by=grower)

    def overtaken(*args: Any, **rest: Any) -> Any:
        take_out(whole.pk, by=grower)
        return keep_parts(*args, **rest)

    monkeypatch.setattr("fraginv.growth.actions.tray.keep_parts", overtaken)
    for _ in range(2):
        cut_out_later.call(photo_id=whole.pk, incoming_id=row.pk)
    assert not Photo.objects.exists()
    assert agree()


def test_a_part_that_was_taken_out_counts_no_longer(
    grower: Person, batch: Batch, frags: list[Frag]
) -> None:
    row = came(batch, *(frag.code_id for frag in frags[:2]))
    take_out(Photo.objects.filter(frag=frags[0]).get().pk, by=grower)
    ((whole,),) = (one.filed for one in shown([row]))
    assert whole.parts == 1


def test_it_was_taken_no_later_than_it_came_in(grower: Person, batch: Batch) -> None:
    """A day that was still to come is not believed because it has come meanwhile."""
    rows = [came(batch, seconds=-3 * 60 * 60)]
    rows.append(get_incoming(take_in(make_picture(), name="b.jpg", batch=batch).pk))
    with clock.at(NOW + timedelta(days=3)):
        photos = [file_by_hand(row.pk, subject=make_frag(grower), by=grower) for row in rows]
        assert [photo.taken_at for photo in photos] == [NOW, NOW]
        assert "is still to come" in get_incoming(rows[0].pk).said
        take_out(photos[1].pk, by=grower)
        again = file_by_hand(rows[1].pk, subject=make_frag(grower), by=grower)
    assert again.taken_at == NOW


def rack_of(frags: list[Frag]) -> Rack:
    assert frags[0].rack is not None
    return frags[0].rack


def test_what_may_be_photographed(grower: Person, frags: list[Frag]) -> None:
    colony, rack = make_colony(grower), rack_of(frags)
    for thing in (frags[0], colony, rack):
        assert photographed(thing.code_id) == thing
    with refused("neither a frag, a colony nor a rack"):
        photographed("7K3Q9FN")


def test_the_labels_in_it_are_proposed_first_and_the_racks_last(
    grower: Person, batch: Batch, frags: list[Frag]
) -> None:
    loose = make_frag(grower)
    found = proposals_for(came(batch, frags[0].code_id, loose.code_id))
    codes = [one.code for one in found]
    assert codes[:2] == [frags[0].code_id, loose.code_id]
    assert codes[-1] == rack_of(frags).code_id
    assert found[0].why == "its label is in the picture"
    assert found[0].place == f"{rack_of(frags)} 1/1"
    assert found[1].place == "not placed"


def test_what_the_phone_scanned_just_before(grower: Person, frags: list[Frag]) -> None:
    at = (NOW - timedelta(seconds=80)).isoformat()
    scanned = [("junk", at), (frags[2].code_id, "no moment"), (frags[3].code_id, at)]
    scanned += [(frags[4].code_id, at.removesuffix("+00:00"))]
    batch = open_batch(uuid.uuid4(), by=grower, scanned=scanned)
    (found,) = proposals_for(came(batch, seconds=60))
    assert (found.code, found.why) == (frags[3].code_id, "scanned 20 s before")


def test_what_the_same_person_had_in_hand(
    grower: Person, seller: Person, batch: Batch, frags: list[Frag]
) -> None:
    for frag, by in ((frags[1], grower), (frags[2], seller)):
        with clock.at(NOW - timedelta(minutes=3)):
            mark_seen([frag.pk], by=by)
    (found,) = proposals_for(came(batch, seconds=60))
    assert (found.code, found.why) == (frags[1].code_id, "in hand 2 min before")


def test_photos_since_do_not_hide_what_was_in_hand(
    monkeypatch: pytest.MonkeyPatch, grower: Person, batch: Batch, frags: list[Frag]
) -> None:
    monkeypatch.setattr(proposals, "EVENTS", 1)
    with clock.at(NOW - timedelta(minutes=3)):
        mark_seen([frags[1].pk], by=grower)
    came(open_batch(uuid.uuid4(), by=grower), frags[4].code_id, seconds=100, seed=5)
    (found,) = proposals_for(came(batch, seconds=60))
    assert (found.code, found.why) == (frags[1].code_id, "in hand 2 min before")


def test_the_sequence_of_the_batch_and_the_next_hole(batch: Batch, frags: list[Frag]) -> None:
    came(batch, frags[1].code_id, seconds=90, seed=1)
    came(batch, frags[3].code_id, seconds=50, seed=2)
    came(batch, frags[5].code_id, seconds=10, seed=3)
    found = proposals_for(came(batch, seconds=70, seed=4))
    assert [one.code for one in found] == [frags[index].code_id for index in (2, 1, 3)]
    assert found[0].why == "next after the piece taken 20 s before"
    assert found[1].why == "taken 20 s after a picture of it"
    assert found[2].why == "taken 20 s before a picture of it"


def test_without_a_moment_the_order_of_sending_counts(
    grower: Person, batch: Batch, frags: list[Frag]
) -> None:
    take_in(labelled(frags[1].code_id), name="a.png", batch=batch)
    row = get_incoming(take_in(make_picture(kind="PNG"), name="b.png", batch=batch).pk)
    assert row.taken_at is None
    found = proposals_for(row)
    assert [one.code for one in found] == [frags[2].code_id, frags[1].code_id]


def test_the_rack_that_was_said_is_proposed(grower: Person, frags: list[Frag]) -> None:
    batch = open_batch(uuid.uuid4(), by=grower, rack=rack_of(frags))
    (found,) = proposals_for(came(batch))
    assert (found.code, found.why) == (rack_of(frags).code_id, "a photo of the whole rack")


def test_proposals_cost_the_same_in_a_larger_house(
    grower: Person,
    batch: Batch,
    frags: list[Frag],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    came(batch, frags[1].code_id, seconds=90, seed=1)
    came(batch, frags[3].code_id, seconds=50, seed=2)
    row = came(batch, seconds=70, seed=4)
    with django_assert_max_num_queries(9):
        assert len(proposals_for(row)) == 3
    fill_holes(
        [frag.pk for frag in make_frags(grower, 30, colony=make_colony(grower))],
        rack=rack_of(frags),
        by=grower,
    )
    with django_assert_max_num_queries(9):
        proposals_for(row)


def test_the_tray_leads_on_and_ends(batch: Batch) -> None:
    first, second, third = (came(batch, seed=seed) for seed in range(3))
    assert [row.pk for row in tray(after=None).rows] == [third.pk, second.pk, first.pk]
    assert next_in_tray(third) == second
    assert next_in_tray(first) == third
    for row in (second, third):
        discard(row.pk, by=batch.by)
    assert next_in_tray(first) is None


def test_sums_and_rows_of_a_batch(
    grower: Person,
    batch: Batch,
    frags: list[Frag],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    came(batch, *(frag.code_id for frag in frags[:2]), seed=1)
    came(batch, frags[4].code_id, seed=2)
    take_in(b"none", name="c.jpg", batch=batch)
    came(batch, seed=3)
    sums = sums_of(batch)
    assert (sums.all, sums.waiting, sums.done, sums.filed) == (4, 0, 4, 2)
    assert (sums.tray, sums.refused) == (1, 1)
    with django_assert_max_num_queries(3):
        _, rows = pictures_of(batch, after=None)
    assert [row.incoming.state for row in rows] == ["filed", "filed", "refused", "tray"]
    (whole,), (one,) = rows[0].filed, rows[1].filed
    assert (whole.is_rack, whole.parts, whole.name) == (True, 2, str(rack_of(frags)))
    assert (one.code, one.is_rack) == (frags[4].code_id, False)
    page, counted = latest_batches(after=None)
    assert page.rows == [batch]
    assert counted[batch.pk] == sums
