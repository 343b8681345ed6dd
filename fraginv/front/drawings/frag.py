"""Drawn frags for the demo, where there are no photos."""

from collections.abc import Callable
from math import exp
from random import Random
from typing import Final

from fraginv.base.pictures import Mark, jpeg_of_pixels
from fraginv.front.drawings.fleshy import (
    draw_anemone,
    draw_fan,
    draw_leather,
    draw_mushrooms,
    draw_tree,
    draw_zoanthids,
)
from fraginv.front.drawings.ground import draw_grid, draw_plug
from fraginv.front.drawings.light import developed, shade
from fraginv.front.drawings.others import draw_clam, draw_fronds, draw_plates
from fraginv.front.drawings.palette import palette_of
from fraginv.front.drawings.stony import draw_branches, draw_flesh, draw_tentacles
from fraginv.front.drawings.surface import SIDE, Surface

Shape = Callable[..., None]

SHAPES: Final[dict[str, tuple[Shape, ...]]] = {
    "SPS": (draw_branches, draw_plates),
    "LPS": (draw_tentacles, draw_flesh),
    "soft": (draw_leather, draw_tree),
    "zoanthid": (draw_zoanthids,),
    "mushroom": (draw_mushrooms,),
    "gorgonian": (draw_fan,),
    "anemone": (draw_anemone,),
    "clam": (draw_clam,),
    "macroalga": (draw_fronds,),
    "other": (draw_plates,),
}


def draw_frag(group: str, *, hue: float, seed: int, age: int, form: int = 0) -> bytes:
    """Draw a frag on its plug under blue light, seen from above, marked as a demo picture.

    Args: ``group`` one of the trade's groups; ``hue`` in degrees, from which a
    variety has all its colours; ``seed`` tells pieces of a variety apart;
    ``age`` in days since it was cut; ``form`` chooses among the group's shapes
    (SPS branches or plates, LPS tentacles or flesh, soft leather or tree).
    Returns: a JPEG of 900 by 900 pixels, the same for the same arguments.
    """
    chance = Random(seed)  # noqa: S311 repeatable on purpose
    surface = Surface()
    draw_grid(surface, chance=chance)
    draw_plug(surface, chance=chance, age=age)
    shapes = SHAPES[group]
    shapes[form % len(shapes)](surface, palette=palette_of(hue), chance=chance, growth=grown(age))
    pixels = developed(shade(surface, phase=chance.uniform(0, 6)))
    return jpeg_of_pixels(pixels, width=SIDE, height=SIDE, mark=Mark("DEMO"))


def grown(age: int) -> float:
    """Return how far a frag has grown, in parts of what it ever will, by its age in days."""
    return 0.22 + 0.78 * (1 - exp(-age / 150))
