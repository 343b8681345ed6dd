"""Photos of frags with exact truth, filed as the crew would file them."""

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

import numpy as np

from fraginv.base import clock
from fraginv.base.models import Person, PrintedSize
from fraginv.base.rules import card
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.stock.models import Frag
from tests.growth.scenes import scene
from tests.growth.scenes.camera import Camera, looking
from tests.growth.scenes.draws import plain_look
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Scene, SeenFrag, Sheet
from tests.growth.scenes.shapes import Shape, disc, lumpy
from tests.growth.scenes.textures import LARGE, printed_card, printed_label

# Half as many pixels each way as a phone's camera takes, so that tests are quick.
SIZE = (2016, 1512)
FOCAL_PX = 1514.0
HEIGHT_MM = 14.0
CORAL = lumpy(np.random.default_rng(5), diameter_mm=22)
ROUND = disc(25)
SHAPES = {shape.name: shape for shape in (CORAL, ROUND)}


@dataclass(frozen=True)
class Shot:
    """Hold a filed photo of a frag, and what is true of it."""

    photo: Photo
    true: SeenFrag
    data: bytes

    @property
    def middle(self) -> tuple[float, float]:
        """Return a pixel well inside the coral."""
        x, y = self.true.outline_px.mean(axis=0)
        return float(x), float(y)


def above_the_card() -> Camera:
    """Return a camera as a hand holds it, a little slant."""
    return looking(
        at_mm=(60, 72),
        distance_mm=240,
        tilt_deg=8,
        towards_deg=30,
        focal_px=FOCAL_PX,
        size=SIZE,
    )


@lru_cache(maxsize=16)
def shot_of(
    code: str,
    shape: str = "lumpy",
    *,
    has_card: bool = True,
    has_label: bool = True,
    has_glare: bool = False,
) -> tuple[bytes, SeenFrag, float]:
    """Photograph a coral in the card's window, its label on the card.

    Returns: the file, what is true of the coral, and the printed symbol's side in mm.
    """
    printed = printed_label(code, LARGE)
    at = (card.LABEL_PLACE.left_mm, card.LABEL_PLACE.top_mm + 2)
    sheets = ([Sheet(printed_card())] if has_card else []) + (
        [Sheet(printed.print, at, label=printed)] if has_label else []
    )
    made = Scene(
        camera=above_the_card(),
        sheets=tuple(sheets),
        frags=(
            scene.Frag(
                shape=SHAPES[shape],
                at_mm=card.WINDOW.centre,
                height_mm=HEIGHT_MM,
                plug_mm=30.0 if shape == CORAL.name else 0.0,
                plug_height_mm=8.0,
            ),
        ),
        look=plain_look(),
        glares=(scene.Glare(card.WINDOW.centre, 2.5, 3.0),) * has_glare,
        seed=4,
    )
    taken = photograph(made)
    return taken.jpeg(), taken.frag, float(printed.fit.symbol_mm)


def print_at(code: str, symbol_mm: float) -> None:
    """Say that a code's label was printed so large."""
    PrintedSize.objects.create(
        code_id=code, symbol_mm=Decimal(f"{symbol_mm:.2f}"), printed_at=clock.now()
    )


def file_shot(
    frag: Frag,
    *,
    by: Person,
    shape: Shape = CORAL,
    has_card: bool = True,
    has_label: bool = True,
    has_glare: bool = False,
    symbol_share: float = 1.0,
) -> Shot:
    """File such a photo under a frag whose label was printed at the size that it has.

    Args: ``symbol_share`` by how much the kept size of the label is wrong.
    """
    data, true, symbol_mm = shot_of(
        frag.code_id, shape.name, has_card=has_card, has_label=has_label, has_glare=has_glare
    )
    print_at(frag.code_id, symbol_mm * symbol_share)
    return Shot(file_photo(frag, data=data, by=by), true, data)
