"""Drawn frags of the demo on a measuring card, as a camera straight above would see them.

Card and label lie in one plane; the frag stands in the card's window, its widest contour
at a height above it, and is seen as much larger as it is nearer.
"""

from dataclasses import dataclass
from math import cos, hypot, pi, sin
from random import Random
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from fraginv.base.pictures import Mark, jpeg_of_pixels
from fraginv.base.rules.card import CARD_HEIGHT_MM, CARD_WIDTH_MM, LABEL_PLACE, MARKERS, WINDOW, Box
from fraginv.base.symbols import make_symbol
from fraginv.front.drawings.frag import SHAPES, grown
from fraginv.front.drawings.ground import MIDDLE, PLUG, draw_plug
from fraginv.front.drawings.light import developed, shade
from fraginv.front.drawings.palette import palette_of
from fraginv.front.drawings.surface import PLACES, SIDE, Array, Surface

PX_PER_MM: Final = 8
MARGIN_MM: Final = 13.0
WIDTH: Final = round((CARD_WIDTH_MM + 2 * MARGIN_MM) * PX_PER_MM)
HEIGHT: Final = round((CARD_HEIGHT_MM + 2 * MARGIN_MM) * PX_PER_MM)
# A lens that looks as narrow as 52 mm on 35 mm film sees the card whole from so far away.
FOCAL_35_MM: Final = 52
DISTANCE_MM: Final = FOCAL_35_MM / hypot(36, 24) * hypot(WIDTH, HEIGHT) / PX_PER_MM
# The drawn plug is one of 25 mm.
DRAWN_PX_PER_MM: Final = 2 * PLUG / 25.0
PAPER: Final = (0.70, 0.78, 0.98)
INK: Final = (0.05, 0.06, 0.10)
BENCH: Final = (0.10, 0.14, 0.24)
CORNERS: Final = 48
# Where the mark stands: on the bench below the card.
BELOW: Final = (0.09, 0.985)
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Carded:
    """A picture of a frag on the card, and what is true of it.

    ``outline_px`` goes round the coral in pixels, ``area_mm2`` is what it encloses.
    """

    jpeg: bytes
    outline_px: tuple[tuple[float, float], ...]
    area_mm2: float


def draw_on_card(
    group: str,
    *,
    hue: float,
    seed: int,
    age: int,
    height_mm: float,
    address: str,
    symbol_mm: float,
    form: int = 0,
) -> Carded:
    """Draw a frag in the card's window with its label beside it, marked as a demo picture.

    Args: as ``draw_frag``; ``address`` is what the label's symbol carries, ``symbol_mm``
        its side; ``height_mm`` that of the coral's widest contour above the card.
    """
    drawn, whole, coral = draw_alone(group, hue=hue, seed=seed, age=age, form=form)
    canvas = bare_card(address, symbol_mm=symbol_mm)
    nearer = DISTANCE_MM / (DISTANCE_MM - height_mm)
    seen = PX_PER_MM * nearer
    middle = seen_at(WINDOW.centre, nearer)
    lay(canvas, drawn, whole, middle=middle, scale=seen / DRAWN_PX_PER_MM)
    ring = outline_of(coral)
    around = [
        (middle[0] + x * seen / DRAWN_PX_PER_MM, middle[1] + y * seen / DRAWN_PX_PER_MM)
        for x, y in ring
    ]
    area = enclosed(ring) / DRAWN_PX_PER_MM**2
    pixels = np.clip(np.rint(canvas * 255), 0, 255).astype(np.uint8).tobytes()
    jpeg = jpeg_of_pixels(
        pixels, width=WIDTH, height=HEIGHT, mark=Mark("DEMO", BELOW), focal_35=FOCAL_35_MM
    )
    return Carded(jpeg, tuple(around), area)


def draw_alone(
    group: str, *, hue: float, seed: int, age: int, form: int
) -> tuple[Array, Mask, Mask]:
    """Draw a frag on its plug: colours from 0 to 1 by row and column, where it is, where coral."""
    chance = Random(seed)  # noqa: S311 repeatable on purpose
    surface = Surface()
    surface.height -= 1e3
    draw_plug(surface, chance=chance, age=age)
    plug = surface.height.copy()
    shapes = SHAPES[group]
    shapes[form % len(shapes)](surface, palette=palette_of(hue), chance=chance, growth=grown(age))
    pixels = np.frombuffer(developed(shade(surface, phase=chance.uniform(0, 6))), np.uint8)
    colours = pixels.reshape(SIDE, SIDE, 3).astype(np.float32) / 255
    return colours, surface.height > -500, surface.height > plug


def seen_at(point_mm: tuple[float, float], nearer: float) -> tuple[float, float]:
    """Return where a point above the card is seen, in pixels; the card lies in the middle."""
    middle = ((WIDTH - 1) / 2, (HEIGHT - 1) / 2)
    x, y = ((MARGIN_MM + value) * PX_PER_MM - 0.5 for value in point_mm)
    return (middle[0] + (x - middle[0]) * nearer, middle[1] + (y - middle[1]) * nearer)


def bare_card(address: str, *, symbol_mm: float) -> Array:
    """Draw the card with the label on it and nothing in its window, by row and column."""
    ink = np.zeros((HEIGHT, WIDTH), dtype=np.float32)
    for marker in MARKERS:
        print_on(ink, marker.cells, place=marker.place)
    x, y = LABEL_PLACE.centre
    half = symbol_mm / 2
    print_on(
        ink,
        make_symbol(address).rows,
        place=Box(x - half, y - half, symbol_mm, symbol_mm),
    )
    card = covered(Box(0, 0, CARD_WIDTH_MM, CARD_HEIGHT_MM))[..., None]
    paper = np.array(PAPER, np.float32) + ink[..., None] * (np.array(INK) - np.array(PAPER))
    ground = np.array(BENCH, np.float32)
    return np.asarray(ground + card * (paper - ground), np.float32)


def print_on(ink: Array, cells: Any, *, place: Box) -> None:
    """Print dark cells into a square, each pixel as dark as it is covered."""
    dark = np.array(cells, dtype=np.float32)
    across = shares(place.left_mm, place.width_mm, len(dark), WIDTH)
    down = shares(place.top_mm, place.height_mm, len(dark), HEIGHT)
    np.maximum(ink, down @ dark @ across.T, out=ink)


def covered(box: Box) -> Array:
    """Return how much of each pixel a rectangle covers."""
    across = shares(box.left_mm, box.width_mm, 1, WIDTH)
    return np.asarray(shares(box.top_mm, box.height_mm, 1, HEIGHT) @ across.T)


def shares(start_mm: float, length_mm: float, cells: int, pixels: int) -> Array:
    """Return how much of each pixel (row) lies in each of some cells (column) in a row."""
    edges = (MARGIN_MM + start_mm + length_mm * np.arange(cells + 1) / cells) * PX_PER_MM
    places = np.arange(pixels)[:, None]
    inside = np.minimum(places + 1, edges[1:]) - np.maximum(places, edges[:-1])
    return np.asarray(np.clip(inside, 0, 1), np.float32)


def lay(
    canvas: Array, drawn: Array, mask: Mask, *, middle: tuple[float, float], scale: float
) -> None:
    """Lay a drawing over the canvas, its middle there, smoothly stretched by a scale."""
    reach = int(SIDE / 2 * scale) - 1
    columns = np.arange(int(middle[0]) - reach, int(middle[0]) + reach)
    rows = np.arange(int(middle[1]) - reach, int(middle[1]) + reach)
    layer = np.concatenate([drawn, mask[..., None]], axis=2).astype(np.float32)
    x, y = MIDDLE + (columns - middle[0]) / scale, MIDDLE + (rows - middle[1]) / scale
    taken = between(between(layer, y).transpose(1, 0, 2), x).transpose(1, 0, 2)
    field = canvas[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    field += taken[..., 3:] * (taken[..., :3] - field)


def between(layer: Array, where: Array) -> Array:
    """Return rows of a layer at places between them, averaged as far as one reaches."""
    step = max(1.0, float(where[1] - where[0]))
    parts = [
        np.clip(np.rint(where + step * (part - 1.5) / 4), 0, SIDE - 1).astype(np.intp)
        for part in range(4)
    ]
    total: Array = sum((layer[part] for part in parts), np.zeros_like(layer[parts[0]]))
    return np.asarray(total / 4)


def outline_of(coral: Mask) -> list[tuple[float, float]]:
    """Return points round the coral, as seen from its middle, in pixels of the drawing."""
    rows, columns = np.nonzero(coral)
    x, y = PLACES[columns] - MIDDLE, PLACES[rows] - MIDDLE
    turn = np.floor((np.arctan2(y, x) / (2 * pi) % 1) * CORNERS).astype(np.intp)
    far = np.zeros(CORNERS)
    np.maximum.at(far, turn, np.hypot(x, y))
    far = np.maximum(far, 0.3 * far.max())
    turns = (np.arange(CORNERS) + 0.5) / CORNERS * 2 * pi
    return [(away * cos(t), away * sin(t)) for away, t in zip(far, turns, strict=True)]


def enclosed(ring: list[tuple[float, float]]) -> float:
    """Return the area within a ring of points, by Gauss's formula."""
    following = [*ring[1:], ring[0]]
    pairs = zip(ring, following, strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2
