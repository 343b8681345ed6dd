"""Reading photos, and what visitors may see of them."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pytest_django import DjangoAssertNumQueries, Settings

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import (
    Subject,
    get_photo_for,
    is_for_visitors,
    latest_photos,
    latest_photos_of,
    photo_differences,
    photo_for_variety,
    photo_for_visitors,
    photo_subject,
    photos_for_varieties,
    photos_for_visitors,
    photos_of,
)
from fraginv.stock.actions.aside import keep_back, quarantine_frags, set_apart
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Frag, FragEvent
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.growth.rows import measure

START = datetime(2026, 11, 1, 12, tzinfo=UTC)


def make_photo(subject: Subject, *, by: Person, day: int = 0, side: int = 40) -> Photo:
    """File a picture that was taken some days after the start."""
    with clock.at(START + timedelta(days=day)):
        return file_photo(subject, data=make_picture(size=(side, side + day)), by=by)


def test_photos_come_latest_first(grower: Person) -> None:
    frag = make_frag(grower)
    photos = [make_photo(frag, by=grower, day=day) for day in (3, 1, 2)]
    assert list(photos_of(frag)) == [photos[0], photos[2], photos[1]]
    assert list(photos_of(frag.variety)) == []


def test_the_latest_photo_of_each_frag_in_one_statement(
    grower: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    frags = make_frags(grower, 10)
    for frag in frags[:9]:
        make_photo(frag, by=grower, day=1)
    latest = make_photo(frags[0], by=grower, day=5)
    make_photo(frags[0], by=grower, day=3)
    with django_assert_num_queries(1):
        found = latest_photos(frag.pk for frag in frags)
        assert [photo.mark for photo in found.values()]
    assert found[frags[0].pk] == latest
    assert set(found) == {frag.pk for frag in frags[:9]}
    assert latest_photos([]) == {}


def test_of_photos_taken_at_the_same_moment_the_one_filed_last_counts(grower: Person) -> None:
    frag = make_frag(grower)
    make_photo(frag, by=grower, side=40)
    second = make_photo(frag, by=grower, side=50)
    assert latest_photos([frag.pk]) == {frag.pk: second}


def test_buyers_see_the_coral_rather_than_the_card(grower: Person) -> None:
    frag = make_frag(grower)
    with clock.at(START + timedelta(days=9)):
        on_card = measure(frag, by=grower, days=1, area_mm2=300).photo
    assert latest_photos([frag.pk]) == {}
    assert photo_for_visitors(frag) == photo_for_variety(frag.variety) == on_card
    plain = make_photo(frag, by=grower, day=2)
    assert latest_photos([frag.pk]) == {frag.pk: plain}
    assert photo_for_visitors(frag) == photo_for_variety(frag.variety) == plain
    assert latest_photos_of(frag) == [on_card, plain]


def test_a_variety_shows_its_own_photo_then_a_colonys_then_a_frags(grower: Person) -> None:
    colony = make_colony(grower)
    frag = make_frag(grower, colony=colony)
    assert photo_for_variety(colony.variety) is None
    for subject in (frag, colony, colony.variety):
        photo = make_photo(subject, by=grower)
        make_photo(frag, by=grower, day=9)
        assert photo_for_variety(colony.variety) == (
            photo if subject is not frag else latest_photos([frag.pk])[frag.pk]
        )


def test_pictures_of_many_varieties_in_one_statement(
    grower: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    varieties = [make_variety(grower) for _ in range(3)]
    photos = [make_photo(variety, by=grower) for variety in varieties[:2]]
    with django_assert_num_queries(1):
        found = photos_for_varieties([variety.pk for variety in varieties])
    assert found == {variety.pk: photo for variety, photo in zip(varieties, photos, strict=False)}


def hide_apart(frag: Frag, by: Person) -> None:
    set_apart([frag.pk], by=by)


def hide_in_quarantine(frag: Frag, by: Person) -> None:
    quarantine_frags([frag.pk], rack=make_rack(by, quarantine=True), by=by)


def hide_lost(frag: Frag, by: Person) -> None:
    record_loss(frag.pk, pieces=1, cause="unknown", by=by)


@pytest.mark.parametrize("hide", [hide_apart, hide_in_quarantine, hide_lost])
def test_visitors_do_not_see_what_may_be_sick(hide: object, grower: Person) -> None:
    assert callable(hide)
    frag = make_frag(grower)
    photo = make_photo(frag, by=grower)
    assert get_photo_for(None, photo_id=photo.pk, mark=photo.mark) == photo
    assert is_for_visitors(photo)
    assert list(photos_for_visitors(frag)) == [photo]
    hide(frag, grower)
    with pytest.raises(NotFound, match="There is no such picture"):
        get_photo_for(None, photo_id=photo.pk, mark=photo.mark)
    assert get_photo_for(grower, photo_id=photo.pk, mark=photo.mark) == photo
    assert not is_for_visitors(photo)
    assert not photos_for_visitors(frag).exists()
    assert photo_for_variety(frag.variety) is None


def test_visitors_see_what_is_kept_back(grower: Person) -> None:
    frag = make_frag(grower)
    photo = make_photo(frag, by=grower)
    keep_back([frag.pk], kept=True, by=grower)
    assert is_for_visitors(photo)


def test_visitors_do_not_see_a_barred_colony(grower: Person) -> None:
    colony = make_colony(grower)
    photo = make_photo(colony, by=grower)
    assert is_for_visitors(photo)
    bar_colony(colony, because="held for an authority", by=grower)
    assert not is_for_visitors(photo)


def test_an_address_with_a_wrong_mark_leads_nowhere(grower: Person) -> None:
    photo = make_photo(make_frag(grower), by=grower)
    with pytest.raises(NotFound, match="There is no such picture"):
        get_photo_for(grower, photo_id=photo.pk, mark="0" * 16)


def test_the_subject_of_a_code(grower: Person) -> None:
    lot, colony, rack = make_lot(grower), make_colony(grower), make_rack(grower)
    assert photo_subject(lot.code_id) == lot
    assert photo_subject(colony.code_id) == colony
    with pytest.raises(NotFound, match="neither a frag nor a colony"):
        photo_subject(rack.code_id)


def test_a_missing_file_is_a_difference(grower: Person, tmp_path: Path, settings: Settings) -> None:
    default = {**settings.STORAGES["default"], "OPTIONS": {"location": tmp_path}}
    settings.STORAGES = {**settings.STORAGES, "default": default}
    frag = make_frag(grower)
    photo = make_photo(frag, by=grower)
    make_photo(frag.variety, by=grower, day=1)
    assert list(photo_differences()) == []
    lost = tmp_path / f"pictures/{photo.file.sha256[:2]}/{photo.file.sha256}/600.jpg"
    lost.unlink()
    (difference,) = photo_differences()
    assert difference.where == f"photo {photo.pk} of frag {show_code(frag.code_id)}"
    assert difference.what == f"missing in the storage: {lost.relative_to(tmp_path)}"


def test_a_file_cut_to_nothing_is_a_difference(
    grower: Person, tmp_path: Path, settings: Settings
) -> None:
    default = {**settings.STORAGES["default"], "OPTIONS": {"location": tmp_path}}
    settings.STORAGES = {**settings.STORAGES, "default": default}
    make_photo(make_colony(grower), by=grower)
    for name in ("original.jpg", "600.jpg"):
        next(tmp_path.rglob(name)).write_bytes(b"")
    (difference,) = photo_differences()
    assert difference.what.startswith("not as it was kept: pictures/")
    assert "original.jpg, " in difference.what
    assert difference.what.endswith("/600.jpg")


def test_a_photo_that_a_log_names_and_that_is_gone_is_a_difference(grower: Person) -> None:
    frag, other = make_frag(grower), make_frag(grower)
    kept, gone = make_photo(frag, by=grower), make_photo(frag, by=grower, side=50)
    assert list(photo_differences()) == []
    Photo.objects.filter(pk=gone.pk).delete()
    code = show_code(frag.code_id)
    lost = f"{code}: event 3 says that photo {gone.pk} was taken, and it has no such photo"
    assert [str(one) for one in photo_differences()] == [lost]
    Photo.objects.filter(pk=kept.pk).update(frag=other)
    assert [str(one) for one in photo_differences()] == [
        f"{code}: event 2 says that photo {kept.pk} was taken, and it has no such photo",
        lost,
    ]
    FragEvent.objects.filter(frag=frag, seq=2).delete()
    assert [str(one) for one in photo_differences()] == [
        lost,
        f"{show_code(other.code_id)}: has photo {kept.pk}, and its log does not say so",
    ]


def test_differences_take_three_statements(
    grower: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for subject in (make_frag(grower), make_colony(grower), make_variety(grower)):
        make_photo(subject, by=grower)
    Photo.objects.update(caption="x")
    with django_assert_num_queries(3):
        assert list(photo_differences()) == []
