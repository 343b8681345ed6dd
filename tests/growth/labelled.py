"""Small pictures with readable labels in them, for what becomes of pictures that come in."""

from collections.abc import Collection, Mapping
from datetime import datetime
from io import BytesIO

from PIL import Image, ImageDraw

from fraginv.base.rules.codes import address
from fraginv.base.symbols import make_symbol
from tests.base.test_pictures import make_picture

Place = tuple[int, int]
MODULE_PX = 5


def symbol_picture(text: str, *, module_px: int = MODULE_PX, spoilt: bool = False) -> Image.Image:
    """Return a symbol with its quiet zone, dark on light; nobody can read one that is spoilt."""
    symbol = make_symbol(text)
    side = symbol.modules_with_quiet
    picture = Image.new("L", (side, side), 255)
    draw = ImageDraw.Draw(picture)
    for x, y, length in symbol.runs():
        draw.line((x + 4, y + 4, x + 3 + length, y + 4), fill=0)
    if spoilt:
        for row in range(14, side - 4, 2):
            draw.line((14, row, side - 6, row), fill=0)
    return picture.resize((side * module_px, side * module_px), Image.Resampling.NEAREST)


def labelled(
    *codes: str,
    size: Place = (900, 700),
    taken: str = "",
    places: Mapping[str, Place] | None = None,
    seed: int = 0,
    module_px: int = MODULE_PX,
    spoilt: Collection[str] = (),
) -> bytes:
    """Return a JPEG that shows labels, each where it is said or beside each other.

    Args: ``codes`` as they stand on labels, or other texts; ``taken`` as Exif writes it;
        pictures of another ``seed`` are others; the labels of ``spoilt`` codes are torn.
    """
    picture = Image.new("RGB", size, (40 + 2 * (seed % 50), 60 + 2 * (seed // 50), 130))
    for index, code in enumerate(codes):
        text = address("REEF.TEST", code) if len(code) == 7 else code
        at = (places or {}).get(code, (30 + 220 * (index % 4), 60 + 260 * (index // 4)))
        picture.paste(symbol_picture(text, module_px=module_px, spoilt=code in spoilt), at)
    exif = Image.open(BytesIO(make_picture(taken=taken))).getexif() if taken else Image.Exif()
    target = BytesIO()
    picture.save(target, "JPEG", quality=92, exif=exif)
    return target.getvalue()


def exif_time(moment: datetime) -> str:
    """Return a moment as Exif writes it."""
    return f"{moment:%Y:%m:%d %H:%M:%S}"
