"""Upright pixels of pictures, held against Pillow's own turning."""

from io import BytesIO

import pytest
from PIL import Image, ImageOps

from fraginv.base.errors import InputError
from fraginv.base.pictures import inspect_picture, open_picture, prepare_picture
from fraginv.base.pixels import cut_out, cut_outs, upright_colour, upright_grey
from tests.base.test_pictures import make_picture


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_pixels_are_upright(kind: str, orientation: int) -> None:
    data = make_picture(kind=kind, orientation=orientation)
    upright = ImageOps.exif_transpose(Image.open(BytesIO(data)))
    grey, colour = upright_grey(data), upright_colour(data)
    assert (grey.width, grey.height, grey.channels) == (*upright.size, 1)
    assert (colour.width, colour.height, colour.channels) == (*upright.size, 3)
    assert colour.data == upright.convert("RGB").tobytes()
    plain = upright.convert("L").tobytes()
    assert max(abs(a - b) for a, b in zip(grey.data, plain, strict=True)) <= 2


def test_a_part_is_cut_out_and_ends_at_the_edge() -> None:
    data = make_picture(size=(64, 40))
    part = upright_colour(data, box=(-5, 10, 20, 99))
    assert (part.width, part.height) == (20, 30)
    whole = Image.open(BytesIO(data)).convert("RGB").crop((0, 10, 20, 40))
    assert part.data == whole.tobytes()
    facts = inspect_picture(cut_out(data, box=(10, 10, 30, 20)))
    assert (facts.media_type, facts.width, facts.height) == ("image/jpeg", 20, 10)


@pytest.mark.parametrize("box", [(64, 0, 70, 10), (10, 10, 10, 20), (5, -9, 9, 0)])
def test_a_part_outside_is_refused(box: tuple[int, int, int, int]) -> None:
    with pytest.raises(InputError, match="lies outside the picture"):
        upright_colour(make_picture(), box=box)


def test_what_was_unpacked_for_renditions_comes_along_in_grey() -> None:
    prepared = prepare_picture(make_picture(size=(4000, 3000), orientation=6))
    grey = prepared.grey
    assert (grey.width, grey.height, grey.channels) == (1500, 2000, 1)
    assert len(grey.data) == 1500 * 2000
    small = prepare_picture(make_picture(size=(64, 40)))
    assert (small.grey.width, small.grey.height) == (64, 40)


@pytest.mark.parametrize("part", [0.3, 0.7])
def test_what_breaks_off_is_refused(part: float) -> None:
    whole = make_picture(size=(900, 600))
    for unpack in (upright_grey, upright_colour):
        with pytest.raises(InputError, match="damaged or not whole"):
            unpack(whole[: int(len(whole) * part)])


def test_parts_are_cut_out_of_a_picture_that_is_unpacked_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    turned = make_picture(size=(60, 40), orientation=6)
    boxes = [(0, 0, 10, 20), (30, 10, 99, 99)]
    alone = [cut_out(turned, box=box) for box in boxes]
    times: list[int] = []

    def counted(data: bytes) -> object:
        times.append(len(data))
        return open_picture(data)

    monkeypatch.setattr("fraginv.base.pixels.open_picture", counted)
    assert list(cut_outs(turned, boxes=boxes)) == alone
    assert len(times) == 1
