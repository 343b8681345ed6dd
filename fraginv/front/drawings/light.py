"""Blue light from above, water over it, and a picture of what it falls on."""

import numpy as np

from fraginv.front.drawings.surface import PLACES, SIDE, Array, Surface

LAMP = (-0.42, -0.5, 0.757)
SKY = (0.03, 0.05, 0.16)
BEAM = (0.16, 0.22, 0.62)
GLEAM = (0.10, 0.14, 0.22)
HALO = np.float32(0.24)
STEP = 6


def blurred(sheet: Array, *, rounds: int) -> Array:
    """Return a coarse copy of a sheet, blurred, at its full size again."""
    small = sheet[STEP // 2 :: STEP, STEP // 2 :: STEP]
    for _ in range(rounds):
        padded = np.pad(small, 1, mode="edge")
        rows = padded[:-2] + padded[1:-1] + padded[2:]
        small = (rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:]) / np.float32(9)
    return enlarged(enlarged(small).T).T


def enlarged(small: Array) -> Array:
    """Return a sheet stretched downwards, with values in between."""
    where = np.clip((PLACES + 0.5) / STEP - 0.5, 0, SIDE // STEP - 1)
    low = np.minimum(where.astype(np.intp), SIDE // STEP - 2)
    share = (where - low).astype(np.float32)[:, None]
    first = small[low]
    stretched: Array = first + (small[low + 1] - first) * share
    return stretched


def ripples(phase: float) -> Array:
    """Return the moving net of light that waves throw, about 1 everywhere."""
    net = np.zeros((SIDE, SIDE), dtype=np.float32)
    for across, down in ((0.011, 0.017), (-0.019, 0.009), (0.007, -0.023)):
        first, second = across * PLACES + phase, down * PLACES
        net += np.outer(np.cos(second), np.sin(first)) + np.outer(np.sin(second), np.cos(first))
    return np.float32(1) + np.float32(0.13) * (np.float32(0.8) - np.abs(net)).clip(-1, 1)


def slopes(height: Array) -> tuple[Array, Array, Array]:
    """Return the surface's normal at each place, as three sheets."""
    down = np.empty_like(height)
    across = np.empty_like(height)
    down[1:-1] = height[2:] - height[:-2]
    across[:, 1:-1] = height[:, 2:] - height[:, :-2]
    down[0] = down[-1] = 0
    across[:, 0] = across[:, -1] = 0
    np.clip(down * np.float32(-0.5), -2.5, 2.5, out=down)
    np.clip(across * np.float32(-0.5), -2.5, 2.5, out=across)
    up = 1 / np.sqrt(down * down + across * across + 1)
    return across * up, down * up, up


def shade(surface: Surface, *, phase: float) -> Array:
    """Return the picture in linear light, as three sheets."""
    across, down, up = slopes(surface.height)
    facing = np.maximum(across * LAMP[0] + down * LAMP[1] + up * LAMP[2], 0)
    around = np.roll(blurred(surface.height, rounds=3), (9, 8), axis=(0, 1))
    open_to_light = 1 - np.clip((around - surface.height) / np.float32(62), 0, 0.86)
    beam = facing * open_to_light * ripples(phase)
    glow = surface.glow * (np.float32(0.15) + np.float32(0.95) * up * up) * open_to_light
    sharp = facing * facing
    sharp *= sharp
    gleam = sharp * sharp * sharp * sharp * sharp * open_to_light
    edge = (1 - ((PLACES - SIDE / 2) / SIDE) ** 2 * np.float32(1.9)).astype(np.float32)
    vignette = np.outer(edge, edge)
    picture = np.empty_like(surface.colour)
    for channel, (sky, blue, shine) in enumerate(zip(SKY, BEAM, GLEAM, strict=True)):
        colour = surface.colour[channel]
        light = glow + sky * open_to_light + blue * beam
        halo = blurred(colour * glow, rounds=6)
        picture[channel] = (colour * light + shine * gleam + HALO * halo) * vignette
    return picture


LEVELS = 4096
TABLE = (
    np.round(255 * (1 - np.exp(-1.7 * np.linspace(0, 3, LEVELS))) ** (1 / 1.5))
    .clip(0, 255)
    .astype(np.uint8)
)


def developed(picture: Array) -> bytes:
    """Return a picture in linear light as rows of RGB bytes."""
    level = np.clip(picture * np.float32(LEVELS / 3), 0, LEVELS - 1).astype(np.uint16)
    return np.ascontiguousarray(TABLE[level].transpose(1, 2, 0)).tobytes()
