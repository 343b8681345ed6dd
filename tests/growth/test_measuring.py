"""Measuring filed photos: what is stored agrees with the truth of the scene."""

from dataclasses import replace

import numpy as np
import pytest
from django.db import IntegrityError

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person, PrintedSize, StoredFile
from fraginv.growth.actions.measuring import ANY, save_measurement
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.models import Measurement, Photo
from fraginv.growth.queries.measuring import present_measurement, sized, sized_anew, sizes_of
from fraginv.growth.queries.sights import Subject, seen_in, subject_of
from fraginv.growth.rules.camera import Scale, View
from fraginv.growth.rules.drawn import ByHand, Doubt, Drawn, Method, said_of
from fraginv.growth.rules.handles import handles_of
from fraginv.growth.rules.measured import OutlineBy
from fraginv.growth.rules.outlines import area_mm2
from fraginv.stock.models import Frag
from fraginv.stock.queries.differences import stock_differences
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frag
from tests.growth.shots import HEIGHT_MM, ROUND, SIZE, Shot, file_shot
from tests.refusing import refused
from tests.together import together


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


def subject(photo: Photo) -> Subject:
    """Return a photo as the page reads it."""
    return subject_of(photo.pk, mark=photo.mark)


def drawn(shot: Shot, **changes: object) -> Drawn:
    """Draw the true outline by few points, at the true height."""
    view = seen_in(subject(shot.photo)).view
    assert view is not None
    handles = view.to_pixels(handles_of(view.to_plane(shot.true.outline_px, HEIGHT_MM)), HEIGHT_MM)
    given = {"handles_px": tuple((float(x), float(y)) for x, y in handles)}
    return Drawn(**{"height_mm": HEIGHT_MM, **given, **changes})  # type: ignore[arg-type]


def ends_of(shot: Shot) -> tuple[tuple[float, float], ...]:
    """Return the two points of the true outline that lie farthest apart, in pixels."""
    points = shot.true.outline_mm
    apart = ((points[:, None] - points) ** 2).sum(axis=2)
    places = np.unravel_index(np.argmax(apart), apart.shape)
    return tuple((float(x), float(y)) for x, y in shot.true.outline_px[list(places)])


@pytest.mark.parametrize(
    ("has_card", "scale", "off"), [(True, Scale.CARD, 0.005), (False, Scale.LABEL, 0.012)]
)
def test_what_is_stored_is_the_true_size(
    grower: Person, frag: Frag, has_card: bool, scale: Scale, off: float
) -> None:
    shot = file_shot(frag, by=grower, has_card=has_card)
    found = sized(subject(shot.photo), drawn=drawn(shot))
    kept = save_measurement(shot.photo, sized=found, by=grower)
    kept.refresh_from_db()
    assert kept.area_mm2 == pytest.approx(shot.true.area_mm2, rel=off)
    assert kept.diameter_mm == pytest.approx(shot.true.diameter_mm, rel=2 * off)
    assert 0 < (kept.sigma_area_mm2 or 0) < 0.06 * shot.true.area_mm2
    assert (kept.scale, kept.method, kept.outline_by) == (scale, Method.OUTLINE, "drawn")
    assert (kept.frag, kept.taken_on) == (frag, shot.photo.taken_on)
    # What is stored says all by itself.
    view = View.of_dict(kept.pose)
    again = area_mm2(view.to_plane(kept.outline_px, HEIGHT_MM))
    assert again == pytest.approx(kept.area_mm2, rel=1e-3)
    assert area_mm2(kept.outline_mm) == pytest.approx(kept.area_mm2, rel=1e-3)
    frag.refresh_from_db()
    event = frag.events.get(seq=frag.last_seq)
    assert event.kind == "sized"
    assert event.body["measurement"] == kept.pk
    assert event.body["area_mm2"] == pytest.approx(kept.area_mm2, abs=0.01)
    assert not list(stock_differences())


def test_a_later_one_takes_its_place_and_both_stay(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower)
    first = save_measurement(
        shot.photo, sized=sized(subject(shot.photo), drawn=drawn(shot)), by=grower
    )
    lower = drawn(shot, height_mm=10.0, outline_by=OutlineBy.ADJUSTED)
    second = save_measurement(
        shot.photo, sized=sized(subject(shot.photo), drawn=lower), by=grower, instead_of=first.pk
    )
    first.refresh_from_db()
    assert first.replaced_at == second.at
    assert present_measurement(shot.photo) == second
    assert sizes_of([shot.photo]) == {shot.photo.pk: second}
    assert (second.area_mm2 or 0) > (first.area_mm2 or 0)
    assert frag.events.filter(kind="sized").count() == 2
    with pytest.raises(IntegrityError, match="measurement_present_once|UNIQUE"):
        Measurement.objects.filter(pk=first.pk).update(replaced_at=None)


def test_whoever_measured_in_the_meantime_is_not_overwritten(
    grower: Person, seller: Person, frag: Frag
) -> None:
    shot = file_shot(frag, by=grower)
    found = sized(subject(shot.photo), drawn=drawn(shot))
    first = save_measurement(shot.photo, sized=found, by=seller, instead_of=None)
    with refused("Test seller has measured this photo in the meantime: 2", error=Conflict):
        save_measurement(shot.photo, sized=found, by=grower, instead_of=None)
    assert Measurement.objects.get() == first
    save_measurement(shot.photo, sized=found, by=grower, instead_of=first.pk)
    assert Measurement.objects.count() == 2


def test_what_was_taken_out_meanwhile_gets_no_size(grower: Person, frag: Frag) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    heads = sized(subject(photo), drawn=Drawn(heads_px=((10.0, 10.0),)))
    take_out(photo.pk, by=grower)
    with refused("took this photo out in the meantime", error=Conflict):
        save_measurement(photo, sized=heads, by=grower)
    assert not Measurement.objects.exists()


def test_a_part_of_a_rack_photo_is_measured_in_the_whole(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower)
    small = make_picture(size=(600, 500))
    part = file_photo(frag, data=small, by=grower)
    Photo.objects.filter(pk=part.pk).update(part_of=shot.photo, left=700, top=300)
    found = sized(subject(part), drawn=drawn(shot))
    kept = save_measurement(part, sized=found, by=grower)
    assert kept.area_mm2 == pytest.approx(shot.true.area_mm2, rel=5e-3)
    assert kept.photo == part


def test_heads_are_counted_with_or_without_an_outline(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower)
    heads = (shot.middle, (shot.middle[0] + 9, shot.middle[1]))
    alone = sized(subject(shot.photo), drawn=Drawn(heads_px=heads))
    kept = save_measurement(shot.photo, sized=alone, by=grower)
    assert (kept.heads, kept.area_mm2, kept.diameter_mm, kept.scale) == (2, None, None, "")
    assert said_of(kept) == "2 heads"
    both = sized(subject(shot.photo), drawn=drawn(shot, heads_px=heads[:1]))
    kept = save_measurement(shot.photo, sized=both, by=grower)
    assert said_of(kept).endswith("projected (± 0.04 cm²), 1 head")


def test_a_width_between_two_points(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, shape=ROUND)
    found = sized(subject(shot.photo), drawn=Drawn(height_mm=HEIGHT_MM, ends_px=ends_of(shot)))
    kept = save_measurement(shot.photo, sized=found, by=grower)
    assert kept.diameter_mm == pytest.approx(25, abs=0.1)
    assert (kept.area_mm2, kept.method) == (None, Method.LENGTH)


def test_a_scale_set_by_hand_where_nothing_else_gives_one(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, has_card=False, has_label=False)
    seen = seen_in(subject(shot.photo))
    assert seen.view is None
    assert [problem.code for problem in seen.problems] == ["no-scale"]
    handles = tuple((float(x), float(y)) for x, y in shot.true.outline_px[::60])
    with refused("nothing tells how large a pixel is"):
        sized(subject(shot.photo), drawn=Drawn(height_mm=0, handles_px=handles))
    ends = ends_of(shot)
    by_hand = ByHand(ends, length_mm=22.0)
    found = sized(
        subject(shot.photo), drawn=Drawn(height_mm=0.0, handles_px=handles, by_hand=by_hand)
    )
    kept = save_measurement(shot.photo, sized=found, by=grower)
    assert kept.scale == Scale.HAND
    assert kept.diameter_mm == pytest.approx(shot.true.diameter_mm, rel=0.06)
    again = sized_anew(subject(shot.photo), kept=kept)
    assert again.area_mm2 == pytest.approx(kept.area_mm2, rel=2e-3)


def test_a_disc_of_any_size_is_asked_where_the_scale_is_a_hands(grower: Person, frag: Frag) -> None:
    """A plug of 20 mm was stored as a coral of 8.8 mm, by a length that was typed wrong."""
    shot = file_shot(frag, by=grower, shape=ROUND, has_card=False, has_label=False)
    handles = tuple((float(x), float(y)) for x, y in shot.true.outline_px[::60])
    wrong = ByHand(ends_of(shot), length_mm=8.8)
    plug = Drawn(height_mm=0.0, handles_px=handles, by_hand=wrong)
    with pytest.raises(Doubt) as asked:
        sized(subject(shot.photo), drawn=plug)
    assert asked.value.data == {"doubt": "outline-is-plug"}
    sure = replace(plug, sure=frozenset(["outline-is-plug"]))
    assert sized(subject(shot.photo), drawn=sure).area_mm2


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"height_mm": None}, "The height at which the frag is widest is missing"),
        ({"height_mm": -1.0}, "A height of -1 mm cannot be"),
        ({"handles_px": ((100.0, 100.0), (300.0, 300.0))}, "at least three points"),
        (
            {"handles_px": ((900.0, 600.0), (1100.0, 800.0), (1100.0, 600.0), (900.0, 800.0))},
            "The outline crosses itself",
        ),
        (
            {"handles_px": ((0.0, 500.0), (400.0, 300.0), (400.0, 700.0))},
            "touches the edge of the picture",
        ),
        ({"heads_px": ((5000.0, 2.0),)}, "outside the photo"),
        ({"handles_px": ()}, "Nothing is drawn yet"),
    ],
    ids=["no height", "below", "two points", "crossing", "edge", "head outside", "nothing"],
)
def test_what_cannot_be_measured_is_refused_in_words(
    grower: Person, frag: Frag, changes: dict[str, object], said: str
) -> None:
    shot = file_shot(frag, by=grower)
    with refused(said, error=InputError):
        sized(subject(shot.photo), drawn=drawn(shot, **changes))


def test_an_outline_like_a_plugs_rim_is_asked_and_not_refused(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, shape=ROUND)
    with pytest.raises(Doubt, match="as large as the plug") as asked:
        sized(subject(shot.photo), drawn=drawn(shot))
    assert asked.value.data == {"doubt": "outline-is-plug"}
    found = sized(subject(shot.photo), drawn=drawn(shot, sure=frozenset(["outline-is-plug"])))
    # A disc of 25 mm is 490.87 mm².
    assert found.area_mm2 == pytest.approx(490.87, rel=5e-3)
    assert "outline-is-plug" in [problem.code for problem in found.problems]


def test_a_rim_is_lower_than_the_frag_and_looks_smaller(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, shape=ROUND)
    with pytest.raises(Doubt, match="as large as the plug"):
        sized(subject(shot.photo), drawn=drawn(shot, height_mm=22.0))
    oval = drawn(shot, height_mm=22.0)
    longer = tuple((x * 1.2, y) for x, y in oval.handles_px)
    assert sized(subject(shot.photo), drawn=replace(oval, handles_px=longer)).area_mm2


def test_a_height_that_was_not_measured_makes_a_size_less_sure(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower)
    by_ruler, offered = (
        sized(subject(shot.photo), drawn=drawn(shot, height_mm=height)) for height in (14.0, 15.0)
    )
    assert (offered.sigma_area_mm2 or 0) > 1.7 * (by_ruler.sigma_area_mm2 or 0)
    for one in (by_ruler, offered):
        assert abs((one.area_mm2 or 0) - shot.true.area_mm2) < 2 * (one.sigma_area_mm2 or 0)
    kept = save_measurement(shot.photo, sized=offered, by=grower)
    again = sized_anew(subject(shot.photo), kept=kept)
    assert again.sigma_area_mm2 == pytest.approx(offered.sigma_area_mm2, rel=0.02)


def test_a_lamp_mirrored_on_the_frag_is_kept_with_its_size(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, has_glare=True)
    found = sized(subject(shot.photo), drawn=drawn(shot))
    kept = save_measurement(shot.photo, sized=found, by=grower)
    assert [problem["code"] for problem in kept.problems] == ["glare"]
    again = sized_anew(subject(shot.photo), kept=kept)
    assert [problem.code for problem in again.problems] == ["glare"]


def test_card_and_label_that_differ_are_both_named(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, symbol_share=1.04)
    seen = seen_in(subject(shot.photo))
    assert seen.view is not None
    assert seen.view.scale == Scale.CARD
    assert [problem.code for problem in seen.problems] == ["scales-differ"]
    found = sized(subject(shot.photo), drawn=drawn(shot))
    kept = save_measurement(shot.photo, sized=found, by=grower)
    assert kept.problems[0]["code"] == "scales-differ"


def test_a_label_of_unknown_size_says_so(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower, has_card=False)
    PrintedSize.objects.all().delete()
    seen = seen_in(subject(shot.photo))
    assert [problem.code for problem in seen.problems] == ["label-size-unknown"]
    assert seen.around_px


def test_measured_again_by_the_present_method(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower)
    first = save_measurement(
        shot.photo, sized=sized(subject(shot.photo), drawn=drawn(shot)), by=grower
    )
    Measurement.objects.filter(pk=first.pk).update(version="0", area_mm2=1.0)
    first.refresh_from_db()
    again = save_measurement(
        shot.photo,
        sized=sized_anew(subject(shot.photo), kept=first),
        by=grower,
        instead_of=first.pk,
    )
    assert again.version != "0"
    assert again.area_mm2 == pytest.approx(shot.true.area_mm2, rel=5e-3)
    assert Measurement.objects.count() == 2


def test_only_photos_of_one_frag_are_measured(grower: Person, frag: Frag) -> None:
    photo = file_photo(make_colony(grower), data=make_picture(), by=grower)
    with refused("shows no single frag"):
        subject(photo)
    with refused("no such picture"):
        subject_of(photo.pk, mark="0" * 16)


def test_a_photo_whose_original_is_gone_says_so(grower: Person, frag: Frag) -> None:
    photo = file_photo(frag, data=make_picture(size=(90, 91)), by=grower)
    StoredFile.objects.filter(pk=photo.file_id).update(sha256="0" * 64)
    with refused("missing in the storage"):
        seen_in(subject_of(photo.pk, mark="0" * 16))


def test_a_photo_is_as_large_as_it_says(grower: Person, frag: Frag) -> None:
    assert subject(file_shot(frag, by=grower).photo).size == SIZE


@pytest.mark.django_db(transaction=True)
def test_many_who_measure_one_photo_at_once_leave_one_size(grower: Person, frag: Frag) -> None:
    shot = file_shot(frag, by=grower)
    found = sized(subject(shot.photo), drawn=Drawn(heads_px=(shot.middle,)))

    def measure(instead_of: int | None) -> Measurement:
        return save_measurement(shot.photo, sized=found, by=grower, instead_of=instead_of)

    came = together(measure, on=[None] * 5)
    assert [isinstance(one, Measurement) for one in came].count(True) == 1
    assert all("in the meantime" in str(one) for one in came if isinstance(one, Conflict))
    assert Measurement.objects.count() == 1
    came = together(measure, on=[ANY] * 4)
    stored = [one for one in came if isinstance(one, Measurement)]
    assert Measurement.objects.filter(replaced_at=None).count() == 1
    assert Measurement.objects.count() == 1 + len(stored)
    assert frag.events.filter(kind="sized").count() == 1 + len(stored)
    assert not list(stock_differences())
