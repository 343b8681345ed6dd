"""Taking a photo out of where it was filed by mistake."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.intake import open_batch, take_in
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.actions.tray import file_by_hand
from fraginv.growth.models import Incoming, Measurement, Photo
from fraginv.growth.queries.intake import incoming_differences
from fraginv.growth.queries.measuring import sized
from fraginv.growth.queries.photos import latest_photos_of, photo_differences
from fraginv.growth.queries.sights import subject_of
from fraginv.growth.queries.size_differences import size_differences
from fraginv.growth.rules.drawn import Drawn
from fraginv.stock.models import Frag
from fraginv.stock.queries.differences import stock_differences
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag, make_rack
from tests.refusing import refused

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


def disagreements() -> list[str]:
    found = [*stock_differences(), *photo_differences(), *incoming_differences()]
    return [str(one) for one in [*found, *size_differences()]]


def test_it_lies_in_the_tray_and_is_filed_where_it_belongs(frag: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    take_out(photo.pk, by=grower)
    assert latest_photos_of(frag) == []
    row = Incoming.objects.get()
    assert (row.state, row.file, row.why) == ("tray", photo.file, "taken-out")
    assert "by mistake. Choose what it shows." in row.said
    other = make_frag(grower)
    again = file_by_hand(row.pk, subject=other, by=grower)
    assert latest_photos_of(other) == [again]
    last = frag.events.order_by("seq").last()
    assert last is not None
    assert (last.kind, last.body["out"]) == ("photographed", True)
    assert disagreements() == []


def test_a_picture_that_came_in_goes_back_to_its_own_row(frag: Frag, grower: Person) -> None:
    row = take_in(make_picture(), name="a.jpg", batch=open_batch(uuid4(), by=grower))
    photo = file_by_hand(row.pk, subject=frag, by=grower)
    take_out(photo.pk, by=grower)
    row.refresh_from_db()
    assert (row.state, Incoming.objects.count()) == ("tray", 1)
    assert file_by_hand(row.pk, subject=frag, by=grower).pk != photo.pk  # it was right after all
    assert disagreements() == []


def test_its_size_counts_no_longer(frag: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    subject = subject_of(photo.pk, mark=photo.mark)
    heads = sized(subject, drawn=Drawn(heads_px=((10.0, 10.0),)))
    save_measurement(photo, sized=heads, by=grower)
    take_out(photo.pk, by=grower)
    assert Measurement.objects.get().replaced_at is not None
    assert disagreements() == []


@pytest.mark.parametrize("is_out", [True, False])
def test_verify_tells_what_was_taken_out_without_a_word(
    frag: Frag, grower: Person, is_out: bool
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    subject = subject_of(photo.pk, mark=photo.mark)
    save_measurement(photo, sized=sized(subject, drawn=Drawn(heads_px=((9.0, 9.0),))), by=grower)
    rows = Photo.every.filter(pk=photo.pk)
    if is_out:
        rows.update(withdrawn_at=photo.filed_at, withdrawn_by=grower)
        told, counts = disagreements()
        assert f"photo {photo.pk} was taken out, and its log does not say so" in told
        assert f"it counts, and its photo {photo.pk} was taken out" in counts
    else:
        take_out(photo.pk, by=grower)
        rows.update(withdrawn_at=None, withdrawn_by=None)
        (told,) = disagreements()
        assert f"photo {photo.pk} stands, and its log does not say so" in told


def test_parts_go_with_the_photo_that_they_were_cut_out_of(frag: Frag, grower: Person) -> None:
    rack = make_rack(grower)
    whole = file_photo(rack, data=make_picture(size=(90, 60)), by=grower)
    part = file_photo(frag, data=make_picture(size=(30, 20)), by=grower)
    Photo.objects.filter(pk=part.pk).update(part_of=whole, left=0, top=0)
    take_out(whole.pk, by=grower)
    assert not Photo.objects.exists()
    assert Photo.every.count() == 2
    assert Incoming.objects.get().file == whole.file
    assert disagreements() == []


def test_twice_is_refused(frag: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    take_out(photo.pk, by=grower)
    with refused("was taken out already", error=Conflict):
        take_out(photo.pk, by=grower)


def test_what_stands_elsewhere_too_does_not_go_to_the_tray(frag: Frag, grower: Person) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    file_photo(make_colony(grower), data=make_picture(), by=grower)
    take_out(photo.pk, by=grower)
    assert not Incoming.objects.exists()


def address(photo: Photo) -> str:
    return reverse("growth:take_out", args=[photo.pk, photo.mark])


def test_the_page_asks_and_takes_it_out(
    client_for: ClientFor,
    frag: Frag,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    photo, client = file_photo(frag, data=make_picture(), by=grower), client_for(Role.GROWER)
    with django_assert_max_num_queries(6):
        page = client.get(address(photo))
    assert "It shows something else" in page.content.decode()
    done = client.post(address(photo), {"replay_key": str(uuid4())}, follow=True)
    assert "It lies in the tray now." in done.content.decode()
    assert not Photo.objects.exists()
    assert client.get(address(photo)).status_code == 404
    gone = client.get(reverse("growth:photo", args=[photo.pk, photo.mark, 240]))
    assert gone.status_code == 404


@pytest.mark.parametrize("role", [None, Role.READER])
def test_whoever_files_no_photos_takes_none_out(
    client_for: ClientFor, frag: Frag, grower: Person, role: Role | None
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    assert client_for(role).post(address(photo)).status_code in {302, 303, 403}
    assert Photo.objects.exists()


def test_a_wrong_address_leads_nowhere(client_for: ClientFor, frag: Frag, grower: Person) -> None:
    photo, client = file_photo(frag, data=make_picture(), by=grower), client_for(Role.GROWER)
    for args in ([photo.pk, "0" * 16], [photo.pk + 1, photo.mark]):
        assert client.get(reverse("growth:take_out", args=args)).status_code == 404
