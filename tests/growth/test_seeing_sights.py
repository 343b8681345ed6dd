"""Where the camera stood, by card or label, and what is said where that is hard to tell."""

from dataclasses import dataclass, replace
from functools import lru_cache

import cv2
import numpy as np
import pytest

from fraginv.base.rules import card
from fraginv.base.rules.optics import Optics
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Focal, Points, Scale, View
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.edges import Grey
from fraginv.growth.seeing.markers import FoundMarker, find_markers, fitting_together
from fraginv.growth.seeing.measuring import scale_of
from fraginv.growth.seeing.sights import Sight, view_of_card, view_of_label
from tests.growth.scenes.camera import looking
from tests.growth.scenes.draws import codes, plain_look
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Bend, Scene, Sheet, Shot
from tests.growth.scenes.sensor import Look
from tests.growth.scenes.textures import MIDDLE, printed_card, printed_label

FOCAL = Focal(1200.0)
SIZE = (1000, 1100)


@dataclass(frozen=True)
class Read:
    """A label that was read, as the reader hands it over."""

    text: str
    corners: Points
    version: int = 2
    level: str = "Q"


@dataclass(frozen=True)
class Taken:
    """How a photograph is taken."""

    tilt_deg: float = 12.0
    distance_mm: float = 230.0
    bend: Bend = Bend()
    card_bend: Bend = Bend()
    look: Look = plain_look()


@lru_cache(maxsize=32)
def shot_of(taken: Taken = Taken(), *, has_card: bool = True, has_label: bool = True) -> Shot:
    """Photograph the card with a label on it, or one of them."""
    printed = printed_label(codes()[3], MIDDLE)
    label = Sheet(printed.print, (45.0, 90.0), 1.0, taken.bend, label=printed)
    camera = looking(
        at_mm=(62.0, 80.0),
        distance_mm=taken.distance_mm,
        tilt_deg=taken.tilt_deg,
        towards_deg=40,
        roll_deg=5,
        focal_px=FOCAL.px,
        size=SIZE,
    )
    sheets = (Sheet(printed_card(), bend=taken.card_bend),) * has_card + (label,) * has_label
    return photograph(Scene(camera, sheets, look=taken.look))


def label_of(shot: Shot, *, shift_px: float = 0.4) -> Read:
    """Return the label as it is read, its corners a little off."""
    return Read(shot.label.text, shot.label.corners_px + shift_px)


def seen(sight: Sight | None) -> View:
    """Return the view of a sight that must have one."""
    assert sight is not None
    assert sight.view is not None, sight.problems
    return sight.view


def said(sight: Sight | None) -> list[str]:
    """Return the codes of what is said."""
    assert sight is not None
    return [problem.code for problem in sight.problems]


def blank() -> Grey:
    """Return a picture of nothing."""
    return np.full((SIZE[1], SIZE[0]), 120, np.uint8)


def covered(shot: Shot, numbers: set[int]) -> Grey:
    """Return a photograph of the card with some of its markers under white paper."""
    grey = shot.grey.copy()
    for marker in card.MARKERS:
        if marker.number in numbers:
            corners = shot.camera.to_pixels(np.array(marker.place.corners))
            cv2.fillConvexPoly(grey, np.round(corners).astype(np.int32), 220)
    return grey


@pytest.mark.parametrize("tilt_deg", [0.0, 12.0, 25.0])
def test_the_card_tells_where_the_camera_stood(tilt_deg: float) -> None:
    shot = shot_of(Taken(tilt_deg=tilt_deg))
    sight = view_of_card(shot.grey, focal=FOCAL)
    view = seen(sight)
    assert said(sight) == []
    assert (view.scale, view.markers) == (Scale.CARD, 8)
    assert view.tilt_deg == pytest.approx(tilt_deg, abs=0.15)
    assert view.distance_mm == pytest.approx(shot.camera.distance_mm, rel=2e-3)
    assert view.residual_px < 0.1
    assert view.sigma_scale < 0.002
    places = np.array([card.WINDOW.centre, card.LABEL_PLACE.centre])
    assert np.allclose(view.to_pixels(places), shot.camera.to_pixels(places), atol=0.03)


def test_a_label_tells_where_the_camera_stood() -> None:
    shot = shot_of(has_card=False)
    label = label_of(shot)
    sight = view_of_label(shot.grey, label=label, symbol_mm=shot.label.symbol_mm, focal=FOCAL)
    view = seen(sight)
    assert said(sight) == []
    assert view.scale == Scale.LABEL
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * shot.label.symbol_mm
    assert np.allclose(view.to_pixels(square), shot.label.corners_px, atol=0.05)
    assert view.distance_mm == pytest.approx(shot.camera.distance_mm, rel=0.02)
    assert 0.003 < view.sigma_scale < 0.01


def test_a_wrong_lens_is_found_out_by_a_card_that_is_seen_slant() -> None:
    shot = shot_of(Taken(tilt_deg=25))
    view = seen(view_of_card(shot.grey, focal=Focal(FOCAL.px * 1.08, 0.06)))
    assert view.focal_px == pytest.approx(FOCAL.px, rel=5e-3)
    assert view.sigma_focal < 0.01


def test_from_straight_above_a_lens_stays_uncertain() -> None:
    shot = shot_of(Taken(tilt_deg=0), has_card=False)
    size_mm = shot.label.symbol_mm
    sigmas = [
        seen(
            view_of_label(
                shot.grey, label=label_of(shot), symbol_mm=size_mm, focal=Focal(FOCAL.px, sigma)
            )
        ).sigma_focal
        for sigma in (0.015, 0.06)
    ]
    assert sigmas == pytest.approx([0.015, 0.06], rel=0.1)


@pytest.mark.parametrize(
    ("hidden", "codes_said"),
    [
        ({1}, []),
        ({1, 4}, []),
        ({0, 1, 2}, ["markers-hidden"]),
        ({0, 3, 5, 6, 7}, ["markers-hidden"]),
    ],
    ids=["one", "two", "three", "five"],
)
def test_the_card_measures_while_three_markers_are_seen(
    hidden: set[int], codes_said: list[str]
) -> None:
    shot = shot_of()
    sight = view_of_card(covered(shot, hidden), focal=FOCAL)
    view = seen(sight)
    assert view.markers == 8 - len(hidden)
    assert said(sight) == codes_said
    place = np.array([card.WINDOW.centre])
    assert np.allclose(view.to_pixels(place), shot.camera.to_pixels(place), atol=0.2)


def test_fewer_than_three_markers_are_none() -> None:
    grey = covered(shot_of(), {0, 1, 2, 3, 4, 7})
    assert view_of_card(grey, focal=FOCAL) == Sight(None, (problems.CARD_CUT_OFF,))


def test_a_card_half_out_of_the_picture_says_so() -> None:
    shot = shot_of(has_label=False)
    low = int(shot.camera.to_pixels(np.array([[62.0, 40.0]]))[0, 1])
    grey = shot.grey.copy()
    grey[low:] = 60
    grey[:, : SIZE[0] // 2] = 60
    assert view_of_card(grey, focal=FOCAL) == Sight(None, (problems.CARD_CUT_OFF,))


def test_markers_of_others_are_no_card() -> None:
    grey = np.full((900, 900), 230, np.uint8)
    for kind in (cv2.aruco.DICT_6X6_50, cv2.aruco.DICT_4X4_50):
        book = cv2.aruco.getPredefinedDictionary(kind)
        for number in range(12):
            row, column = divmod(number, 4)
            square = cv2.aruco.generateImageMarker(book, number, 120)
            grey[60 + 280 * row :, 60 + 200 * column :][:120, :120] = square
        assert find_markers(grey) == []
        assert view_of_card(grey, focal=FOCAL) is None


def test_a_mirrored_card_is_no_card() -> None:
    assert find_markers(np.ascontiguousarray(shot_of().grey[:, ::-1])) == []


def test_a_marker_that_lies_elsewhere_is_left_out() -> None:
    """A marker cut from a second card, laid beside this one."""
    shot = shot_of()
    grey = covered(shot, {4})
    (lone,) = (found for found in find_markers(shot.grey) if found.marker.number == 4)
    left, top = np.floor(lone.corners.min(axis=0)).astype(int) - 6
    right, bottom = np.ceil(lone.corners.max(axis=0)).astype(int) + 6
    part = shot.grey[top:bottom, left:right]
    x, y = (shot.camera.to_pixels(np.array([card.WINDOW.centre]))[0]).astype(int)
    grey[y : y + part.shape[0], x : x + part.shape[1]] = part
    assert {found.marker.number for found in find_markers(grey)} == set(range(8)) - {4}


def test_markers_on_one_spot_are_no_card() -> None:
    spot = np.zeros((4, 2))
    assert fitting_together([FoundMarker(marker, spot) for marker in card.MARKERS]) == []


SOFT = Look(blur_px=3.0, noise=0.003, quality=95)


@pytest.mark.parametrize(
    ("taken", "code"),
    [(Taken(tilt_deg=36), "tilted"), (Taken(look=SOFT), "blurred")],
    ids=["tilted", "blurred"],
)
def test_what_makes_a_card_doubtful_is_said(taken: Taken, code: str) -> None:
    shot = shot_of(taken, has_label=False)
    sight = view_of_card(shot.grey, focal=FOCAL)
    assert said(sight) == [code]
    assert seen(sight).distance_mm == pytest.approx(shot.camera.distance_mm, rel=0.02)


def test_a_card_far_away_is_too_small() -> None:
    shot = shot_of(Taken(distance_mm=1500.0), has_label=False)
    sight = view_of_card(shot.grey, focal=FOCAL)
    assert sight is None or said(sight) in (["card-too-small"], ["few-markers"])


def test_a_bent_card_is_less_certain_and_says_so() -> None:
    sights = [
        view_of_card(shot_of(Taken(card_bend=Bend(curl_mm=curl))).grey, focal=FOCAL)
        for curl in (0.0, 1.0, 5.0)
    ]
    sigmas = [seen(sight).sigma_scale for sight in sights]
    assert sigmas == sorted(sigmas)
    assert sigmas[2] > 3 * sigmas[0]
    assert [said(sight) for sight in sights] == [[], [], ["does-not-fit"]]


def by_label(shot: Shot, *, label: Read | None = None) -> Sight:
    """Return what the label of a photograph tells."""
    read = label or label_of(shot)
    return view_of_label(shot.grey, label=read, symbol_mm=shot.label.symbol_mm, focal=FOCAL)


@pytest.mark.parametrize(
    ("taken", "code"),
    [
        (Taken(tilt_deg=38), "tilted"),
        (Taken(distance_mm=330.0), "too-small"),
        (Taken(distance_mm=200.0, look=replace(SOFT, blur_px=2.2)), "blurred"),
        (Taken(distance_mm=100.0, bend=Bend(curl_mm=5.0)), "does-not-fit"),
    ],
    ids=["tilted", "small", "blurred", "bent"],
)
def test_what_makes_a_label_doubtful_is_said(taken: Taken, code: str) -> None:
    assert code in said(by_label(shot_of(taken, has_card=False)))


def test_a_label_that_is_not_where_it_was_said_to_be_is_lost() -> None:
    shot = shot_of(has_card=False)
    elsewhere = Read(shot.label.text, shot.label.corners_px - (0, 300))
    assert by_label(shot, label=elsewhere) == Sight(None, (problems.LABEL_LOST,))
    other = Read(shot.label.text, shot.label.corners_px, version=3)
    assert by_label(shot, label=other) == Sight(None, (problems.LABEL_LOST,))
    flat = Read(shot.label.text, np.zeros((4, 2)))
    assert by_label(shot, label=flat) == Sight(None, (problems.LABEL_LOST,))


def scale(
    shot: Shot,
    *,
    grey: Grey | None = None,
    has_label: bool = True,
    printed: float | None = 1.0,
    optics: str = Optics.CAMERA,
) -> Sight:
    """Return what gives a photograph its measure; ``printed`` is how the label was scaled."""
    return scale_of(
        shot.grey if grey is None else grey,
        focal=FOCAL,
        label=label_of(shot) if has_label else None,
        symbol_mm=shot.label.symbol_mm / printed if printed else None,
        optics=optics,
    )


def test_the_card_comes_before_the_label() -> None:
    both = scale(shot_of())
    assert (seen(both).scale, said(both)) == (Scale.CARD, [])
    # A label that tells nothing takes nothing from the card.
    unknown = scale(shot_of(), printed=None)
    assert (seen(unknown).scale, said(unknown)) == (Scale.CARD, [])
    alone = scale(shot_of(has_card=False))
    assert (seen(alone).scale, said(alone)) == (Scale.LABEL, [])


def test_a_label_printed_to_fit_is_found_out_by_the_card() -> None:
    found = scale(shot_of(), printed=0.96)
    assert said(found) == ["scales-differ"]
    # 1 / 0.96 is 4.2 % more.
    assert "4.2 % more" in found.problems[0].text
    assert seen(found).scale == Scale.CARD
    assert said(scale(shot_of(), printed=1.01)) == []


def test_a_label_off_the_card_is_not_held_against_it() -> None:
    shot = shot_of()
    shift = shot.camera.to_pixels(np.array([[62.0, 175.0]]))
    assert shift[0, 1] < SIZE[1]
    grey = shot.grey.copy()
    corners = shot.label.corners_px
    low, high = corners.min(axis=0).astype(int) - 12, corners.max(axis=0).astype(int) + 12
    down = int(shift[0, 1] - corners[:, 1].mean())
    part = shot.grey[low[1] : high[1], low[0] : high[0]]
    grey[low[1] + down : high[1] + down, low[0] : high[0]] = part
    moved = Read(shot.label.text, corners + (0, down))
    found = scale_of(grey, focal=FOCAL, label=moved, symbol_mm=20.0)
    assert (seen(found).scale, said(found)) == (Scale.CARD, [])


def test_where_the_card_fails_the_label_measures() -> None:
    shot = shot_of()
    found = scale(shot, grey=covered(shot, set(range(6))))
    assert (seen(found).scale, said(found)) == (Scale.LABEL, [])


@pytest.mark.parametrize(
    ("has_label", "printed", "expected"),
    [
        (False, 1.0, (problems.NO_SCALE,)),
        (True, None, (problems.LABEL_SIZE_UNKNOWN,)),
        (True, 1.0, (problems.LABEL_LOST,)),
    ],
    ids=["nothing", "size not known", "label gone"],
)
def test_where_nothing_measures_it_says_why(
    has_label: bool, printed: float | None, expected: tuple[Problem, ...]
) -> None:
    shot = shot_of()
    found = scale(shot, grey=blank(), has_label=has_label, printed=printed)
    assert found == Sight(None, expected)
    assert all(problem.stops for problem in found.problems)


def test_card_and_label_that_both_fail_are_both_named() -> None:
    shot = shot_of()
    grey = covered(shot, set(range(6)))
    found = scale(shot, grey=grey, printed=None)
    assert found == Sight(None, (problems.CARD_CUT_OFF, problems.LABEL_SIZE_UNKNOWN))


@pytest.mark.parametrize(
    ("optics", "expected"),
    [
        (Optics.CAMERA, []),
        ("", []),
        (Optics.NONE, ["focal-supposed"]),
        (Optics.ALTERED, ["focal-altered"]),
    ],
)
def test_a_lens_that_is_not_to_be_believed_is_said(optics: str, expected: list[str]) -> None:
    assert said(scale(shot_of(), optics=optics)) == expected
