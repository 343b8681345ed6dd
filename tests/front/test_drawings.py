"""The demo's own pictures of frags."""

from io import BytesIO

import pytest
from PIL import Image, ImageStat

from fraginv.base.pictures import prepare_picture
from fraginv.front.drawings.frag import SHAPES, draw_frag
from fraginv.taxa.rules import GROUPS

CORNER = (10, 735, 130, 787)  # inside a crop to four by three


def opened(data: bytes) -> Image.Image:
    picture = Image.open(BytesIO(data))
    picture.load()
    return picture


def covered(data: bytes, *, hue: float) -> float:
    """Return the share of the picture that strongly shows about one hue in degrees."""
    hsv = opened(data).resize((90, 90)).convert("HSV")
    pixels = [hsv.getpixel((x, y)) for x in range(90) for y in range(90)]
    near = [
        pixel
        for pixel in pixels
        if isinstance(pixel, tuple)
        and abs((pixel[0] * 360 / 255 - hue + 180) % 360 - 180) < 25
        and pixel[1] > 90
        and pixel[2] > 90
    ]
    return len(near) / len(pixels)


def test_every_group_can_be_drawn() -> None:
    assert set(SHAPES) == set(GROUPS)


@pytest.mark.parametrize(
    ("group", "form"),
    [(group, form) for group, forms in SHAPES.items() for form in range(len(forms))],
)
def test_a_drawing_is_a_picture_that_the_door_lets_in(group: str, form: int) -> None:
    facts = prepare_picture(draw_frag(group, hue=120, seed=4, age=90, form=form)).facts
    assert (facts.media_type, facts.width, facts.height) == ("image/jpeg", 900, 900)


def test_the_same_arguments_give_the_same_picture() -> None:
    drawn = draw_frag("zoanthid", hue=40, seed=7, age=60)
    assert draw_frag("zoanthid", hue=40, seed=7, age=60) == drawn
    assert draw_frag("zoanthid", hue=40, seed=8, age=60) != drawn


def test_a_variety_shows_its_own_hue() -> None:
    green = draw_frag("mushroom", hue=120, seed=2, age=200)
    red = draw_frag("mushroom", hue=0, seed=2, age=200)
    assert covered(green, hue=130) > 0.05 > covered(red, hue=130)


def test_a_frag_grows_over_its_plug() -> None:
    sizes = [covered(draw_frag("SPS", hue=120, seed=2, age=age), hue=140) for age in (0, 90, 400)]
    assert sizes == sorted(sizes)
    assert sizes[0] < sizes[2] / 2


def test_the_corner_says_demo() -> None:
    drawn = opened(draw_frag("SPS", hue=120, seed=2, age=0)).convert("L")
    assert ImageStat.Stat(drawn.crop(CORNER)).extrema[0][1] > 170
    assert ImageStat.Stat(drawn.crop((770, 820, 890, 895))).extrema[0][1] < 120
