"""What every frag stands on: the rack's grid and a plug."""

from math import cos, pi, sin
from random import Random

import numpy as np

from fraginv.front.drawings.surface import PLACES, SIDE, Array, Paint, Surface, dome, patch, sheets

MIDDLE = SIDE / 2
PLUG = 318.0
TOP = 46.0
PITCH = 400.0
BAR = 38.0
HOLE = -150.0
WATER = (0.02, 0.05, 0.12)
PLASTIC = (0.16, 0.20, 0.30)

CRUSTS = (
    Paint((0.62, 0.22, 0.50), 0.12),
    Paint((0.45, 0.16, 0.34), 0.10),
    Paint((0.22, 0.34, 0.18), 0.06),
    Paint((0.62, 0.56, 0.50), 0.03),
)


def draw_grid(surface: Surface, *, chance: Random) -> None:
    """Draw the rack: bars of pale plastic over dark water."""
    x, y = chance.uniform(-40, 40), chance.uniform(-40, 40)
    across, down = bars(x), bars(y)
    np.maximum(across[None, :], down[:, None], out=surface.height)
    surface.colour[:] = sheets(WATER)
    surface.colour[:, :, across > HOLE] = sheets(PLASTIC)
    surface.colour[:, down > HOLE, :] = sheets(PLASTIC)


def bars(shift: float) -> Array:
    """Return the heights across one set of bars, with rounded edges."""
    away = np.abs((PLACES - MIDDLE + shift + PITCH) % PITCH - PITCH / 2)
    inside = np.clip(1 - (away / BAR) ** 2, 0, 1)
    return np.where(inside > 0, -34 + 16 * inside**0.35, HOLE).astype(np.float32)


def grain(chance: Random) -> Array:
    """Return the unevenness of rough stone, about 1 everywhere."""
    coarse = np.frombuffer(chance.randbytes((SIDE // 9) ** 2), np.uint8).reshape(SIDE // 9, -1)
    fine = np.frombuffer(chance.randbytes((SIDE // 3) ** 2), np.uint8).reshape(SIDE // 3, -1)
    speck = np.repeat(np.repeat(fine, 3, axis=0), 3, axis=1).astype(np.float32)
    spot = np.repeat(np.repeat(coarse, 9, axis=0), 9, axis=1).astype(np.float32)
    return np.float32(0.80) + (speck + spot) * np.float32(0.4 / 510)


def draw_plug(surface: Surface, *, chance: Random, age: float) -> None:
    """Draw the plug's round top, with more crust on it the longer it has stood there.

    Args: ``age`` in days.
    """
    here = patch(MIDDLE, MIDDLE, PLUG)
    away = here.distance / np.float32(PLUG)
    edge = np.clip((1 - away) * 14, 0, 1)
    height = np.where(away < 1, TOP - 22 + 22 * np.sqrt(edge), -1e6).astype(np.float32)
    tone = chance.uniform(0.34, 0.46)
    stone = sheets((tone * 1.1, tone, tone * 0.92)) * grain(chance)[here.rows, here.columns]
    surface.cover(here.rows, here.columns, height=height, colour=stone, glow=0.03)
    for _ in range(int(24 + min(age, 420) / 420 * 150)):
        turn, far = chance.uniform(0, 2 * pi), PLUG * 0.94 * chance.random() ** 0.5
        size = 4 + 20 * chance.random() ** 3
        dome(
            surface,
            MIDDLE + cos(turn) * far,
            MIDDLE + sin(turn) * far,
            min(size, PLUG - far + 4),
            base=TOP - 0.6,
            rise=chance.uniform(1.0, 3.2),
            paint=chance.choice(CRUSTS),
        )
