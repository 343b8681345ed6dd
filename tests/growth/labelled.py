"""Small pictures with readable labels in them, for what becomes of pictures that come in."""

from collections.abc import Mapping
from datetime import datetime
from io import BytesIO

from PIL import Image, ImageDraw

from fraginv.base.rules.codes import address
from fraginv.base.symbols import make_symbol
from tests.base.test_pictures import make_picture

Place = tuple[int, int]
MODULE_PX = 5


def symbol_picture(text: str) -> Image.Image:
    """Return a symbol with its quiet zone, dark on light."""
    symbol = make_symbol(text)
    side = symbol.modules_with_quiet
    picture = Image.new("L", (side, side), 255)
    draw = ImageDraw.Draw(picture)
    for x, y, length in symbol.runs():
        draw.line((x + 4, y + 4, x + 3 + length, y + 4), fill=0)
    return picture.resize((side * MODULE_PX, side * MODULE_PX), Image.Resampling.NEAREST)


def labelled(
    *codes: str,
    size: Place = (900, 700),
    taken: str = "",
    places: Mapping[str, Place] | None = None,
    seed: int = 0,
) -> bytes:
    """Return a JPEG that shows labels, each where it is said or beside each other.

    Args: ``codes`` as they stand on labels, or other texts; ``taken`` as Exif writes it;
        pictures of another ``seed`` are others.
    """
    picture = Image.new("RGB", size, (40 + 2 * (seed % 50), 60 + 2 * (seed // 50), 130))
    for index, code in enumerate(codes):
        text = address("REEF.TEST", code) if len(code) == 7 else code
        at = (places or {}).get(code, (30 + 220 * (index % 4), 60 + 260 * (index // 4)))
        picture.paste(symbol_picture(text), at)
    exif = Image.open(BytesIO(make_picture(taken=taken))).getexif() if taken else Image.Exif()
    target = BytesIO()
    picture.save(target, "JPEG", quality=92, exif=exif)
    return target.getvalue()


def exif_time(moment: datetime) -> str:
    """Return a moment as Exif writes it."""
    return f"{moment:%Y:%m:%d %H:%M:%S}"
