"""Who and what a kept home has so far, and small pictures for it."""

from dataclasses import dataclass, field
from io import BytesIO

from PIL import Image, ImageDraw

from fraginv.base.models import Person
from fraginv.stock.models import Colony, Frag, Rack


def picture(number: int) -> bytes:
    """Draw a small photo."""
    image = Image.new("RGB", (320, 240), (20, 40, 90))
    brush = ImageDraw.Draw(image)
    for ring in range(5):
        inset = 20 + ring * 18 + number * 3
        brush.ellipse((inset, inset, 320 - inset, 240 - inset), fill=(60 + 30 * ring, 160, 90))
    target = BytesIO()
    image.save(target, "JPEG", quality=80)
    return target.getvalue()


@dataclass
class House:
    """The crew, and what they have so far."""

    crew: dict[str, Person] = field(default_factory=dict)
    racks: list[Rack] = field(default_factory=list)
    colonies: list[Colony] = field(default_factory=list)
    frags: list[Frag] = field(default_factory=list)
    lot: Frag | None = None

    @property
    def manager(self) -> Person:
        """Return who may do most of it."""
        return self.crew["manager"]
