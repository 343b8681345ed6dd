"""Pictures at the door, read back with Pillow, the reference library here."""

import struct
import zlib
from datetime import UTC, datetime
from decimal import Decimal
from io import BytesIO
from random import Random

import pillow_heif
import pytest
from PIL import Image, ImageOps
from PIL.TiffImagePlugin import IFDRational

from fraginv.base.errors import InputError
from fraginv.base.pictures import Mark, inspect_picture, jpeg_of_pixels, prepare_picture

GPS = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}
SECRET = b"Serial 4711"


def make_picture(
    *,
    size: tuple[int, int] = (64, 40),
    kind: str = "JPEG",
    mode: str = "RGB",
    orientation: int | None = None,
    taken: str = "",
    offset: str = "",
    place: bool = False,
) -> bytes:
    """Return a picture, blue on the left and red on the right, with what a phone would say."""
    picture = Image.new("RGB", size, (200, 30, 30))
    picture.paste((30, 30, 200), (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    part = exif.get_ifd(0x8769)
    if orientation:
        exif[0x0112] = orientation
    if taken:
        part[0x9003] = taken
        part[0x920A] = IFDRational(425, 100)
    if offset:
        part[0x9011] = offset
    if place:
        exif[0x010F] = SECRET.decode()
        exif.get_ifd(0x8825).update(GPS)
    target = BytesIO()
    picture.convert(mode).save(target, kind, exif=exif)
    return target.getvalue()


def opened(data: bytes) -> Image.Image:
    picture = Image.open(BytesIO(data))
    picture.load()
    return picture


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_type_is_read_from_the_content(kind: str) -> None:
    facts = inspect_picture(make_picture(kind=kind))
    assert (facts.media_type, facts.width, facts.height) == (f"image/{kind.lower()}", 64, 40)


def test_a_renamed_file_is_refused_with_what_it_is() -> None:
    with pytest.raises(InputError, match="The file is a PDF, whatever its name says"):
        inspect_picture(b"%PDF-1.7\n" + b"0" * 200)


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF"])
def test_other_kinds_of_pictures_are_refused(kind: str) -> None:
    with pytest.raises(InputError, match=f"The file is a {kind}"):
        inspect_picture(make_picture(kind=kind))


def make_heic(*, size: tuple[int, int] = (64, 40), taken: str = "") -> bytes:
    """Return a HEIC picture as a phone would write it, by the encoder of pillow-heif."""
    jpeg = Image.open(BytesIO(make_picture(size=size, taken=taken, place=True)))
    target = BytesIO()
    pillow_heif.from_pillow(jpeg).save(target, quality=90, exif=jpeg.getexif().tobytes())
    return target.getvalue()


def test_heic_is_taken_and_kept_as_jpeg_without_place() -> None:
    prepared = prepare_picture(make_heic(size=(400, 200), taken="2026:03:01 10:00:00"))
    assert (prepared.facts.media_type, prepared.facts.kept_type) == ("image/heic", "image/jpeg")
    assert (prepared.facts.width, prepared.facts.height) == (400, 200)
    assert prepared.facts.taken_at == datetime(2026, 3, 1, 10, tzinfo=UTC)
    kept = opened(prepared.original)
    assert (kept.format, kept.size, dict(kept.getexif())) == ("JPEG", (400, 200), {})
    red, blue = kept.getpixel((380, 100)), kept.getpixel((20, 100))
    assert isinstance(red, tuple)
    assert isinstance(blue, tuple)
    assert min(red[0], blue[2]) > 150
    assert SECRET not in prepared.original


@pytest.mark.parametrize("part", [0.2, 0.6, 0.95])
def test_heic_that_breaks_off_is_refused(part: float) -> None:
    whole = make_heic(size=(400, 300))
    with pytest.raises(InputError, match="damaged or not whole"):
        prepare_picture(whole[: int(len(whole) * part)])


def test_what_calls_itself_heic_and_is_not_is_refused() -> None:
    # First box of a HEIC file: ISO/IEC 23008-12, brand "heic" (from memory).
    with pytest.raises(InputError, match="damaged or not whole"):
        inspect_picture(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"0" * 64)


def test_what_calls_itself_heic_and_is_packed_otherwise_is_refused() -> None:
    target = BytesIO()
    Image.new("RGB", (64, 64)).save(target, "AVIF")
    with pytest.raises(InputError, match="damaged or not whole"):
        prepare_picture(target.getvalue().replace(b"ftypavif", b"ftypmif1", 1))


@pytest.mark.parametrize("side", [20_000, 40_000])
def test_heic_that_says_it_is_huge_is_refused(side: int) -> None:
    # Its size stands in the box "ispe": ISO/IEC 23008-12, 6.5.3 (from memory).
    whole = make_heic()
    at = whole.index(b"ispe") + 8
    huge = whole[:at] + struct.pack(">II", side, side) + whole[at + 8 :]
    with pytest.raises(InputError, match="damaged or not whole|too many pixels"):
        prepare_picture(huge)


def test_an_empty_file_is_refused() -> None:
    with pytest.raises(InputError, match="The file is empty"):
        inspect_picture(b"")


def test_a_file_over_25_megabytes_is_refused() -> None:
    picture = make_picture()
    assert inspect_picture(picture + b"0" * (25 * 1024 * 1024 - len(picture))).width == 64
    with pytest.raises(InputError, match="at most 25 MB"):
        inspect_picture(picture + b"0" * (25 * 1024 * 1024 - len(picture) + 1))


def bomb_png(width: int, height: int) -> bytes:
    """Return a small PNG that unpacks into very many pixels (PNG, third edition, clause 11)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    rows = zlib.compressobj(9)
    body = b"".join(rows.compress(b"\x00" * (width // 8 + 1)) for _ in range(height)) + rows.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def test_a_decompression_bomb_is_refused_by_its_header() -> None:
    bomb = bomb_png(20_000, 20_000)
    assert len(bomb) < 100_000
    with pytest.raises(InputError, match=r"\(20000 × 20000\); at most 50 million"):
        prepare_picture(bomb)


def test_fifty_million_pixels_are_the_last_that_pass() -> None:
    assert inspect_picture(bomb_png(8_000, 6_250)).width == 8_000
    with pytest.raises(InputError, match="at most 50 million"):
        inspect_picture(bomb_png(8_000, 6_251))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("part", [0.05, 0.5, 0.9])
def test_a_truncated_file_is_refused(kind: str, part: float) -> None:
    noise = Image.effect_noise((400, 300), 90).convert("RGB")
    target = BytesIO()
    noise.save(target, kind)
    whole = target.getvalue()
    assert prepare_picture(whole).facts.width == 400
    with pytest.raises(InputError, match="damaged or not whole"):
        prepare_picture(whole[: int(len(whole) * part)])


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_bytes_that_only_begin_like_a_picture_are_refused(kind: str) -> None:
    with pytest.raises(InputError, match="damaged or not whole|too many pixels"):
        prepare_picture(make_picture(kind=kind)[:16] + b"\x00\xff\x00\x01" * 100)


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_spoilt_bytes_are_taken_or_refused_but_nothing_else(kind: str) -> None:
    chance = Random(kind)
    whole = make_picture(kind=kind, place=True, taken="2026:11:25 14:03:11", orientation=6)
    refused = 0
    for _ in range(300):
        spoilt = bytearray(whole)
        for _ in range(chance.randint(1, 6)):
            spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        try:
            prepare_picture(bytes(spoilt))
        except InputError:
            refused += 1
    assert 0 < refused < 300


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_orientation_comes_out_upright(orientation: int, kind: str) -> None:
    data = make_picture(size=(80, 40), orientation=orientation, kind=kind)
    upright = ImageOps.exif_transpose(opened(data))
    prepared = prepare_picture(data)
    rendition = opened(prepared.renditions[240])
    assert rendition.size == upright.size == (prepared.facts.width, prepared.facts.height)
    corners = [(10, 10), (upright.width - 10, 10), (10, upright.height - 10)]
    for corner in corners:
        assert colour(rendition, corner) == colour(upright, corner)
    kept = ImageOps.exif_transpose(opened(prepared.original))
    assert kept.convert("RGB").tobytes() == upright.convert("RGB").tobytes()


def colour(picture: Image.Image, at: tuple[int, int]) -> str:
    pixel = picture.convert("RGB").getpixel(at)
    assert isinstance(pixel, tuple)
    return "blue" if pixel[2] > pixel[0] else "red"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_place_and_device_are_gone_and_the_pixels_are_the_same(kind: str) -> None:
    data = make_picture(kind=kind, place=True, orientation=6, taken="2026:11:25 14:03:11")
    assert SECRET in data
    assert opened(data).getexif().get_ifd(0x8825)
    prepared = prepare_picture(data)
    kept = opened(prepared.original)
    assert dict(kept.getexif()) == {0x0112: 6}
    assert kept.tobytes() == opened(data).tobytes()
    for written in (prepared.original, *prepared.renditions.values()):
        assert SECRET not in written
        assert not opened(written).getexif().get_ifd(0x8825)


def test_what_hangs_behind_a_jpeg_is_cut_off() -> None:
    data = make_picture() + b"ftypmp4 GPS 51.5N" + make_picture(place=True)
    kept = prepare_picture(data).original
    assert b"51.5N" not in kept
    assert SECRET not in kept
    assert kept.endswith(b"\xff\xd9")


def test_comments_and_text_are_gone() -> None:
    target = BytesIO()
    Image.new("RGB", (20, 20)).save(target, "JPEG", comment=SECRET, progressive=True)
    assert SECRET in target.getvalue()
    assert SECRET not in prepare_picture(target.getvalue()).original


def test_the_colour_profile_stays() -> None:
    # A phone's wide colours look pale without it. The bytes stand in for a profile.
    target = BytesIO()
    Image.new("RGB", (20, 20)).save(target, "JPEG", icc_profile=b"profile" * 40)
    prepared = prepare_picture(target.getvalue())
    for written in (prepared.original, *prepared.renditions.values()):
        assert opened(written).info["icc_profile"] == b"profile" * 40


def test_moment_and_lens_are_kept_as_fields() -> None:
    data = make_picture(taken="2026:07:25 14:03:11")
    facts = inspect_picture(data, zone="America/New_York")
    # Eastern daylight time is UTC-4 in July (IANA time zone database).
    assert facts.taken_at == datetime(2026, 7, 25, 18, 3, 11, tzinfo=UTC)
    assert facts.focal_length_mm == Decimal("4.25")


def test_the_cameras_own_offset_wins_over_the_zone() -> None:
    facts = inspect_picture(
        make_picture(taken="2026:07:25 14:03:11", offset="+02:00"), zone="America/New_York"
    )
    assert facts.taken_at == datetime(2026, 7, 25, 12, 3, 11, tzinfo=UTC)


@pytest.mark.parametrize("taken", ["0000:00:00 00:00:00", "    :  :     :  :  ", "yesterday"])
def test_a_moment_that_makes_no_sense_counts_as_none(taken: str) -> None:
    assert inspect_picture(make_picture(taken=taken)).taken_at is None


def test_renditions_are_jpegs_of_each_size() -> None:
    prepared = prepare_picture(make_picture(size=(3200, 2400)))
    sizes = {size: opened(data).size for size, data in prepared.renditions.items()}
    assert sizes == {1600: (1600, 1200), 600: (600, 450), 320: (320, 240), 240: (240, 180)}
    assert {opened(data).format for data in prepared.renditions.values()} == {"JPEG"}


def test_a_rendition_shows_the_same_as_a_plain_shrinking() -> None:
    gradient = Image.linear_gradient("L").resize((3000, 2000))
    target = BytesIO()
    gradient.convert("RGB").save(target, "JPEG", quality=92)
    rendition = opened(prepare_picture(target.getvalue()).renditions[600]).convert("L")
    plain = gradient.resize((600, 400))
    differences = [abs(a - b) for a, b in zip(rendition.tobytes(), plain.tobytes(), strict=True)]
    assert max(differences) <= 3


def test_small_pictures_are_not_blown_up() -> None:
    prepared = prepare_picture(make_picture(size=(100, 50)))
    assert {opened(data).size for data in prepared.renditions.values()} == {(100, 50)}


def test_a_very_long_picture_keeps_at_least_one_pixel_across() -> None:
    assert opened(prepare_picture(make_picture(size=(6000, 2))).renditions[240]).size == (240, 1)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16"])
def test_every_mode_of_a_png_becomes_rgb(mode: str) -> None:
    picture = Image.new("L", (2000, 900), 255)
    target = BytesIO()
    source = Image.new("I;16", picture.size, 65535) if mode == "I;16" else picture.convert(mode)
    source.save(target, "PNG")
    rendition = opened(prepare_picture(target.getvalue()).renditions[240])
    assert rendition.mode == "RGB"
    assert rendition.getpixel((100, 50)) == (255, 255, 255)


def test_transparent_parts_become_white() -> None:
    target = BytesIO()
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(target, "PNG")
    rendition = opened(prepare_picture(target.getvalue()).renditions[240])
    assert rendition.getpixel((20, 20)) == (255, 255, 255)


def test_a_cmyk_jpeg_becomes_rgb() -> None:
    data = make_picture(mode="CMYK")
    assert opened(data).mode == "CMYK"
    assert opened(prepare_picture(data).renditions[600]).mode == "RGB"


def test_drawn_pixels_come_back_and_the_mark_is_in_the_corner() -> None:
    ground = bytes((10, 20, 60)) * (360 * 360)
    plain = opened(jpeg_of_pixels(ground, width=360, height=360))
    marked = opened(jpeg_of_pixels(ground, width=360, height=360, mark=Mark("DEMO")))
    box = (0, 290, 90, 315)
    assert plain.size == (360, 360)
    assert marked.crop(box).convert("L").getextrema()[1] > 180  # type: ignore[operator]
    assert plain.convert("L").getextrema()[1] < 40  # type: ignore[operator]
