"""What a picture says of its lens, and when that is believed."""

from collections.abc import Mapping
from decimal import Decimal
from io import BytesIO

import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from fraginv.base.pictures import inspect_picture
from fraginv.base.rules.optics import Lens, Optics, focal_35, optics_of

D = Decimal
WHOLE = Lens(focal_mm=D("4.25"), focal_35_mm=D(26), width=4032, height=3024)


def with_lens(size: tuple[int, int], tags: Mapping[int, object]) -> bytes:
    exif = Image.Exif()
    exif.get_ifd(0x8769).update(tags)
    target = BytesIO()
    Image.new("RGB", size, "teal").save(target, "JPEG", exif=exif)
    return target.getvalue()


@pytest.mark.parametrize(
    ("lens", "size", "optics"),
    [
        pytest.param(WHOLE, (4032, 3024), Optics.CAMERA, id="whole"),
        pytest.param(WHOLE, (3024, 4032), Optics.CAMERA, id="upright"),
        pytest.param(WHOLE, (2016, 1512), Optics.CAMERA, id="made smaller"),
        pytest.param(WHOLE, (1600, 1199), Optics.CAMERA, id="made smaller, rounded"),
        pytest.param(WHOLE, (3024, 3024), Optics.ALTERED, id="cut square"),
        pytest.param(Lens(), (1170, 2532), Optics.NONE, id="screenshot"),
        pytest.param(Lens(D("4.25"), D(26)), (4032, 3024), Optics.CAMERA, id="no size named"),
        pytest.param(Lens(D("4.25"), D(52), D(2)), (4032, 3024), Optics.ALTERED, id="zoomed"),
        pytest.param(Lens(D("4.25"), D(26), D(1)), (4032, 3024), Optics.CAMERA, id="zoom of one"),
    ],
)
def test_whether_the_lens_tells_how_wide_it_looks(
    lens: Lens, size: tuple[int, int], optics: Optics
) -> None:
    assert optics_of(lens, width=size[0], height=size[1]) == optics
    told = focal_35(lens, optics=optics)
    assert told == (lens.focal_35_mm if optics == Optics.CAMERA else None)


def test_a_focal_length_that_no_phone_has_is_not_believed() -> None:
    assert focal_35(Lens(focal_35_mm=D(800)), optics=Optics.CAMERA) is None


def test_exif_is_read() -> None:
    # Tags of CIPA DC-008, Exif 2.32, from memory.
    tags = {0x920A: IFDRational(57, 10), 0xA405: 26, 0xA002: 400, 0xA003: 300}
    facts = inspect_picture(with_lens((400, 300), tags))
    assert (facts.focal_length_mm, facts.focal_35_mm) == (D("5.70"), D("26.00"))
    assert facts.optics == Optics.CAMERA
    cut = inspect_picture(with_lens((300, 300), tags))
    assert (cut.focal_35_mm, cut.optics) == (None, Optics.ALTERED)
    zoomed = inspect_picture(with_lens((400, 300), tags | {0xA404: IFDRational(3, 2)}))
    assert (zoomed.focal_35_mm, zoomed.optics) == (None, Optics.ALTERED)
    plain = inspect_picture(with_lens((400, 300), {}))
    assert (plain.focal_35_mm, plain.optics) == (None, Optics.NONE)


def test_broken_numbers_count_as_not_said() -> None:
    tags = {0x920A: IFDRational(1, 0), 0xA405: 0, 0xA002: 0, 0xA003: 300}
    facts = inspect_picture(with_lens((400, 300), tags))
    assert (facts.focal_length_mm, facts.focal_35_mm, facts.optics) == (None, None, Optics.NONE)
