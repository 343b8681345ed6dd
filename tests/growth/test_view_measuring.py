"""The page that measures, and what its scripts ask, through the browser's door."""

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import numpy as np
import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.pictures import inspect_picture
from fraginv.base.rules.codes import address_path
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Measurement
from fraginv.growth.queries.measuring import sized
from fraginv.growth.queries.sights import seen_in, subject_of
from fraginv.growth.rules import problems
from fraginv.growth.rules.drawn import Drawn, Method, Sized, read_points
from fraginv.growth.seeing.suggesting import Suggested
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.factories import make_frag
from tests.growth.shots import HEIGHT_MM, ROUND, Shot, file_shot
from tests.growth.test_measuring import drawn
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
JSON = {"Accept": "application/json"}


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


@pytest.fixture
def shot(grower: Person, frag: Frag) -> Shot:
    return file_shot(frag, by=grower)


def at(shot: Shot, page: str = "measure") -> str:
    return reverse(f"growth:{page}", args=[shot.photo.pk, shot.photo.mark])


def facts(answer: Any) -> dict[str, Any]:
    """Return what the page tells its scripts."""
    text = answer.content.decode().partition('data-measure="')[2].partition('"')[0]
    found: dict[str, Any] = json.loads(text.replace("&quot;", '"').replace("&#x27;", "'"))
    return found


def sent(shot: Shot, **changes: Any) -> dict[str, Any]:
    """Return what the script sends of a true outline."""
    outline = drawn(shot).handles_px
    fields = {"outline": json.dumps(outline), "by": "suggested", "height_mm": f"{HEIGHT_MM}"}
    return {**fields, "replay_key": str(uuid4()), **changes}


@pytest.mark.parametrize("role", [Role.GROWER, Role.SELLER, Role.MANAGER, Role.OWNER])
def test_the_crew_sees_the_photo_and_what_it_tells(
    client_for: ClientFor, shot: Shot, role: Role
) -> None:
    answer = client_for(role).get(at(shot))
    assert answer.status_code == 200
    told = facts(answer)
    assert told["view"]["scale"] == "card"
    assert told["problems"] == []
    left, top, right, bottom = told["picture"]["focus"]
    assert left < shot.middle[0] < right
    assert top < shot.middle[1] < bottom
    assert 'value="15.0"' in answer.content.decode()


def test_readers_and_strangers_measure_nothing(client_for: ClientFor, shot: Shot) -> None:
    for page in ("measure", "measure_width"):
        assert client_for(Role.READER).get(at(shot, page)).status_code == 403
        assert client_for(None).get(at(shot, page)).status_code == 302
    assert client_for(Role.READER).post(at(shot), sent(shot)).status_code == 403
    assert client_for(None).post(at(shot), sent(shot), headers=JSON).status_code == 401
    assert not Measurement.objects.exists()


def test_addresses_that_stand_for_nothing(client_for: ClientFor, shot: Shot) -> None:
    client = client_for(Role.GROWER)
    wrong = [
        reverse("growth:measure", args=[shot.photo.pk, "0" * 16]),
        reverse("growth:measure", args=[shot.photo.pk + 9, shot.photo.mark]),
        reverse("growth:measured", args=[999]),
    ]
    assert [client.get(url).status_code for url in wrong] == [404, 404, 404]


def test_what_was_drawn_is_stored_and_said_on_the_frags_page(
    client_for: ClientFor, frag: Frag, shot: Shot
) -> None:
    client = client_for(Role.GROWER)
    answer = client.post(at(shot), sent(shot, heads="[[900, 700]]"), headers=JSON)
    kept = Measurement.objects.get()
    assert answer.json() == {"url": reverse("growth:measured", args=[kept.pk])}
    assert kept.area_mm2 == pytest.approx(shot.true.area_mm2, rel=5e-3)
    assert (kept.outline_by, kept.heads, kept.by.role) == ("suggested", 1, Role.GROWER)
    said = client.get(answer.json()["url"])
    assert (said.status_code, said["Location"]) == (302, address_path(frag.code_id))
    page = words_on(client.get(said["Location"]))
    assert "Measured: 22 mm across, 2." in page
    assert "cm² projected (± 0.04 cm²), 1 head." in page
    assert "Measure again" in page


def test_sent_twice_it_is_stored_once(client_for: ClientFor, shot: Shot) -> None:
    client, fields = client_for(Role.GROWER), sent(shot)
    first = client.post(at(shot), fields, headers=JSON)
    again = client.post(at(shot), fields, follow=True, headers=JSON)
    assert again.json() == first.json()
    other = client.post(at(shot), fields | {"height_mm": "3"}, headers=JSON)
    assert (other.status_code, Measurement.objects.count()) == (409, 1)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"outline": "[[1, 2], [3"}, "The outline cannot be read"),
        ({"outline": "[[1, 2], [3, 4]]"}, "at least three points"),
        ({"outline": json.dumps([[9, 9]] * 201)}, "more than 200 points"),
        ({"outline": "[[NaN, 2], [3, 4], [5, 6]]"}, "far outside the photo"),
        ({"outline": '{"a": 1}'}, "The outline cannot be read"),
        ({"height_mm": ""}, "The height at which the frag is widest is missing"),
        ({"height_mm": "high"}, "Enter a number"),
        ({"height_mm": "200"}, "less than or equal to 150"),
        ({"by": "nobody"}, "Select a valid choice"),
        ({"replay_key": ""}, "Open the page again"),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_what_is_wrong_is_said_and_nothing_stored(
    client_for: ClientFor, shot: Shot, changes: dict[str, str], said: str
) -> None:
    answer = client_for(Role.GROWER).post(at(shot), sent(shot, **changes), headers=JSON)
    assert answer.status_code == 400
    assert said in answer.json()["message"]
    assert not Measurement.objects.exists()


def test_a_doubt_is_asked_and_can_be_answered(
    client_for: ClientFor, grower: Person, frag: Frag
) -> None:
    shot, client = file_shot(frag, by=grower, shape=ROUND), client_for(Role.GROWER)
    answer = client.post(at(shot), sent(shot), headers=JSON)
    assert (answer.status_code, answer.json()["doubt"]) == (409, "outline-is-plug")
    sure = client.post(at(shot), sent(shot, sure="outline-is-plug"), headers=JSON)
    assert sure.status_code == 200
    assert Measurement.objects.get().problems[0]["code"] == "outline-is-plug"


def test_somebody_elses_size_is_not_replaced_unseen(
    client_for: ClientFor, seller: Person, shot: Shot
) -> None:
    client, fields = client_for(Role.GROWER), sent(shot, present="")
    theirs = save_measurement(
        shot.photo,
        sized=sized(subject_of(shot.photo.pk, mark=shot.photo.mark), drawn=drawn(shot)),
        by=seller,
    )
    answer = client.post(at(shot), fields, headers=JSON)
    assert (answer.status_code, answer.json()["present"]) == (409, theirs.pk)
    again = client.post(at(shot), sent(shot, present=theirs.pk), headers=JSON)
    assert again.status_code == 200
    assert Measurement.objects.filter(replaced_at=None).get().by.role == Role.GROWER


def test_measured_before_it_begins_with_what_was_drawn(
    client_for: ClientFor, grower: Person, shot: Shot
) -> None:
    client = client_for(Role.GROWER)
    client.post(at(shot), sent(shot), headers=JSON)
    page = client.get(at(shot))
    told = facts(page)
    assert told["present"] == Measurement.objects.get().pk
    assert 8 <= len(told["kept"]["handles"]) <= 40
    assert "takes its place; the earlier one is kept" in words_on(page)
    assert "by the present method" not in words_on(page)
    Measurement.objects.update(version="0")
    assert "by the present method" in words_on(client.get(at(shot)))
    client.post(at(shot, "measure_again"), {"replay_key": str(uuid4())})
    assert Measurement.objects.filter(replaced_at=None).get().version != "0"
    assert Measurement.objects.count() == 2


def test_measured_again_where_nothing_was(client_for: ClientFor, shot: Shot) -> None:
    answer = client_for(Role.GROWER).post(at(shot, "measure_again"), {"replay_key": str(uuid4())})
    assert answer.status_code == 404
    assert "Nothing was measured in this photo yet" in words_on(answer)


def test_the_width_by_two_taps_without_a_script(client_for: ClientFor, shot: Shot) -> None:
    client, url = client_for(Role.GROWER), at(shot, "measure_width")
    first = client.get(url)
    assert "Tap one end of the frag." in words_on(first)
    second = client.get(url, {"taps": "[]", "at.x": "85", "at.y": "170"})
    assert "Tap its other end." in words_on(second)
    taps = second.context["taps"]
    third = client.get(url, {"taps": taps, "at.x": "255", "at.y": "170"})
    assert "Both ends are set." in words_on(third)
    fields = {"taps": third.context["taps"], "height_mm": "0", "replay_key": str(uuid4())}
    done = client.post(url, fields)
    assert done.status_code == 303
    kept = Measurement.objects.get()
    # The card's window is 50 mm wide and fills the picture's 340; 170 of them are half of it.
    assert kept.diameter_mm == pytest.approx(25, rel=0.1)
    assert (kept.area_mm2, kept.method, kept.height_mm) == (None, Method.LENGTH, 0)


def test_beside_a_label_the_first_tap_comes_closer(
    client_for: ClientFor, grower: Person, frag: Frag
) -> None:
    shot = file_shot(frag, by=grower, has_card=False)
    client, url = client_for(Role.GROWER), at(shot, "measure_width")
    whole = client.get(url)
    assert "Tap the frag, to come closer." in words_on(whole)
    near = client.get(url, {"taps": "[]", "near": "", "at.x": "340", "at.y": "1"})
    assert "Tap one end of the frag." in words_on(near)
    wide, closer = whole.context["pane"], near.context["pane"]
    assert closer.width == wide.width // 4
    # What was tapped lies at the corner, and the part stays inside the picture.
    assert (closer.left + closer.width, closer.top) == (wide.left + wide.width, wide.top)
    kept = {"near": near.context["near"]}
    first = client.get(url, {**kept, "taps": "[]", "at.x": "85", "at.y": "60"})
    assert "Tap its other end." in words_on(first)
    second = client.get(url, {**kept, "taps": first.context["taps"], "at.x": "255", "at.y": "60"})
    assert "Both ends are set." in words_on(second)
    (x, y), (u, v) = read_points(second.context["taps"])
    assert v == y
    assert u - x == pytest.approx(closer.width / 2, abs=0.1)
    fields = {"taps": second.context["taps"], "height_mm": "0", "replay_key": str(uuid4())}
    assert client.post(url, fields).status_code == 303
    assert Measurement.objects.get().scale == "label"


def test_a_width_with_too_little_says_so(client_for: ClientFor, shot: Shot) -> None:
    client, url = client_for(Role.GROWER), at(shot, "measure_width")
    for fields, said in (
        ({"taps": "[]", "height_mm": "3"}, "Tap both ends of the frag"),
        ({"taps": "[[5, 6], [7, 8]]", "height_mm": ""}, "height at which the frag is widest"),
    ):
        answer = client.post(url, fields | {"replay_key": str(uuid4())})
        assert answer.status_code == 400
        assert said in words_on(answer)
    assert not Measurement.objects.exists()


def test_without_a_scale_the_width_asks_for_a_known_length(
    client_for: ClientFor, grower: Person, frag: Frag
) -> None:
    shot = file_shot(frag, by=grower, has_card=False, has_label=False)
    client, url = client_for(Role.GROWER), at(shot, "measure_width")
    assert "whose length you know" in words_on(client.get(url))
    taps = "[[100, 100], [500, 100], [100, 300], [300, 300]]"
    fields = {"taps": taps, "length_mm": "40", "height_mm": "0", "replay_key": str(uuid4())}
    assert client.post(url, fields).status_code == 303
    kept = Measurement.objects.get()
    assert (kept.scale, round(kept.diameter_mm or 0, 6)) == ("hand", 20)


def test_a_part_is_as_sharp_as_it_was_taken(client_for: ClientFor, shot: Shot) -> None:
    address = [shot.photo.pk, shot.photo.mark]
    client = client_for(Role.GROWER)
    answer = client.get(reverse("growth:part", args=[*address, 100, 50, 640, 320]))
    picture = inspect_picture(answer.content)
    assert (picture.width, picture.height) == (640, 320)
    assert answer["Cache-Control"].startswith("private")
    large = client.get(reverse("growth:part", args=[*address, 0, 0, 9000, 9000]))
    outside = client.get(reverse("growth:part", args=[*address, 9000, 0, 64, 64]))
    assert (large.status_code, outside.status_code) == (400, 400)


def test_the_page_asks_few_statements(
    client_for: ClientFor,
    grower: Person,
    shot: Shot,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.GROWER)
    client.get(at(shot))
    # Session, person, organisation, the photo, its present size, what the navigation counts.
    with django_assert_num_queries(5) as asked:
        client.get(at(shot))
    for _ in range(3):
        save_measurement(shot.photo, sized=Sized(Method.HEADS, heads_px=((9, 9),)), by=grower)
    with django_assert_num_queries(len(asked)):
        client.get(at(shot))


def test_a_photo_is_read_once_an_hour(
    client_for: ClientFor, shot: Shot, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache.clear()
    client = client_for(Role.GROWER)
    assert client.get(at(shot)).status_code == 200
    monkeypatch.setattr("fraginv.growth.queries.sights.read_original", lambda file: b"")
    assert client.get(at(shot)).status_code == 200


def test_what_was_just_filed_is_offered_to_be_measured(
    client_for: ClientFor, grower: Person, frag: Frag
) -> None:
    photo = file_photo(frag, data=make_picture(), by=grower)
    here = f"{address_path(frag.code_id)}?filed={photo.pk}"
    page = client_for(Role.GROWER).get(here).content.decode()
    assert page.count("Measure it now") == 1
    assert "Measure it now" not in client_for(Role.READER).get(here).content.decode()
    for other in (f"?filed={photo.pk + 1}", "?filed=x", ""):
        text = client_for(Role.GROWER).get(address_path(frag.code_id) + other).content.decode()
        assert "Measure it now" not in text


def test_a_tap_on_the_coral_is_answered_with_few_points_around_it(
    client_for: ClientFor, shot: Shot
) -> None:
    x, y = shot.middle
    fields = {"x": x, "y": y, "height_mm": HEIGHT_MM}
    answer = client_for(Role.GROWER).post(at(shot, "suggest"), fields, headers=JSON)
    assert answer.status_code == 200
    handles = answer.json()["handles"]
    assert 8 <= len(handles) <= 40
    found = sized(
        subject_of(shot.photo.pk, mark=shot.photo.mark),
        drawn=Drawn(height_mm=HEIGHT_MM, handles_px=tuple((u, v) for u, v in handles)),
    )
    assert found.area_mm2 == pytest.approx(shot.true.area_mm2, rel=0.08)
    assert not Measurement.objects.exists()


def test_a_tap_on_its_label_is_answered_with_that(client_for: ClientFor, shot: Shot) -> None:
    corners = seen_in(subject_of(shot.photo.pk, mark=shot.photo.mark)).labels_px[0]
    (x, y), *_ = corners
    fields = {"x": x, "y": y, "height_mm": HEIGHT_MM}
    answer = client_for(Role.GROWER).post(at(shot, "suggest"), fields, headers=JSON)
    assert answer.status_code == 400
    assert answer.json()["message"] == problems.THAT_IS_LABEL.text


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"x": "-40"}, "outside the photo"),
        ({"x": ""}, "This field is required"),
        ({"height_mm": ""}, "The height at which the frag is widest is missing"),
    ],
    ids=["outside", "missing", "no height"],
)
def test_a_tap_that_leads_nowhere_says_why(
    client_for: ClientFor, shot: Shot, changes: dict[str, str], said: str
) -> None:
    fields = {"x": "900", "y": "700", "height_mm": "14"} | changes
    answer = client_for(Role.GROWER).post(at(shot, "suggest"), fields, headers=JSON)
    assert answer.status_code == 400
    assert said in answer.json()["message"]


def test_a_tap_beside_any_coral_says_so(
    client_for: ClientFor, shot: Shot, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nothing(*args: Any, **kwargs: Any) -> Suggested:
        return Suggested(np.empty((0, 2)), (problems.NOTHING_FOUND,))

    monkeypatch.setattr("fraginv.growth.queries.suggested.suggest_outline", nothing)
    fields = {"x": "900", "y": "700", "height_mm": "14"}
    answer = client_for(Role.GROWER).post(at(shot, "suggest"), fields, headers=JSON)
    assert (answer.status_code, answer.json()["message"]) == (400, problems.NOTHING_FOUND.text)


def test_a_tap_where_nothing_gives_a_scale_says_so(
    client_for: ClientFor, grower: Person, frag: Frag
) -> None:
    shot, client = (
        file_shot(frag, by=grower, has_card=False, has_label=False),
        client_for(Role.GROWER),
    )
    fields = {"x": "900", "y": "700", "height_mm": "0"}
    answer = client.post(at(shot, "suggest"), fields, headers=JSON)
    assert answer.status_code == 400
    assert "nothing tells how large a pixel is" in answer.json()["message"]
    same = fields | {"ends": "[[5, 5], [5, 5]]", "length_mm": "20"}
    assert (
        "Set them apart" in client.post(at(shot, "suggest"), same, headers=JSON).json()["message"]
    )
