"""How corals, plugs, algae and the ground look, in linear light; seeded."""

import cv2
import numpy as np

from tests.growth.scenes.camera import Array, Image, as_image

FIELD_PX_PER_MM = 8.0
# Reflectances of tissue (red, green, blue): brown, green, purple, orange, pink, blue, cream.
TISSUES = (
    (0.22, 0.13, 0.06),
    (0.08, 0.30, 0.10),
    (0.25, 0.08, 0.28),
    (0.50, 0.18, 0.04),
    (0.50, 0.15, 0.20),
    (0.06, 0.14, 0.40),
    (0.48, 0.40, 0.24),
    (0.10, 0.22, 0.20),
)
PLUGS = ((0.42, 0.40, 0.36), (0.30, 0.27, 0.22), (0.55, 0.52, 0.48), (0.25, 0.24, 0.25))
CRUSTS = ((0.30, 0.08, 0.16), (0.12, 0.16, 0.06), (0.16, 0.10, 0.06))


def noise(
    chance: np.random.Generator, *, size: tuple[int, int], coarse: int, octaves: int = 4
) -> Image:
    """Return smooth noise of mean 0 and deviation about 1.

    Args: ``size`` as rows and columns, ``coarse`` the pixels of its largest features.
    """
    total = np.zeros(size, np.float32)
    weight, power = 1.0, 0.0
    for octave in range(octaves):
        step = max(1, coarse >> octave)
        grid = (size[0] // step + 4, size[1] // step + 4)
        rough = chance.standard_normal(grid, dtype=np.float32)
        whole = cv2.resize(rough, None, fx=step, fy=step, interpolation=cv2.INTER_CUBIC)
        total += weight * whole[step : step + size[0], step : step + size[1]]
        power += weight**2
        weight *= 0.6
    return np.asarray(total / np.sqrt(power), np.float32)


def tissue(
    chance: np.random.Generator, *, outline_mm: Array, low_mm: Array, side_mm: float
) -> Image:
    """Return the look of a coral on a square field of its plane, (n, n, 3).

    Args: ``low_mm`` the field's top left corner, ``side_mm`` its side.
    """
    count = round(side_mm * FIELD_PX_PER_MM)
    first, second = (np.array(TISSUES[i], np.float32) for i in chance.choice(len(TISSUES), 2))
    second = first * 0.55 + second * 0.45
    mix = 1 / (1 + np.exp(-2 * noise(chance, size=(count, count), coarse=32)))
    colour = as_image(first + (second - first) * mix[:, :, None])
    inside = depth_within(outline_mm, low_mm=low_mm, count=count)
    colour = with_polyps(chance, colour, count=count)
    rim = np.exp(-inside / chance.uniform(0.5, 1.6))[:, :, None] * chance.uniform(0, 0.9)
    pale = np.array((0.62, 0.60, 0.55), np.float32) * chance.uniform(0.5, 1)
    colour = as_image(colour + (pale - colour) * rim)
    # Tissue falls away at its rim, and sends back less light there.
    dome = 0.72 + 0.28 * (1 - np.exp(-inside / 1.2))
    grain = 1 + 0.12 * noise(chance, size=(count, count), coarse=6, octaves=2)
    return np.asarray((colour * (dome * grain)[:, :, None]).clip(0.01, 0.95), np.float32)


def depth_within(outline_mm: Array, *, low_mm: Array, count: int) -> Image:
    """Return how far each place of a field lies within an outline, in mm."""
    points = np.round((outline_mm - low_mm) * FIELD_PX_PER_MM).astype(np.int32)
    mask = np.zeros((count, count), np.uint8)
    cv2.fillPoly(mask, [points], 1)
    return np.asarray(cv2.distanceTransform(mask, cv2.DIST_L2, 3) / FIELD_PX_PER_MM, np.float32)


def with_polyps(chance: np.random.Generator, colour: Image, *, count: int) -> Image:
    """Dot a field with polyps, few large or many small ones, or none."""
    size = chance.choice([0.0, 0.5, 0.9, 2.2])
    if not size:
        return colour
    tint = np.array(TISSUES[chance.integers(len(TISSUES))], np.float32)
    tint = (0.5 * tint + 0.5 * colour.mean((0, 1))) * chance.uniform(0.6, 1.6)
    dots = np.zeros((count, count), np.float32)
    pitch = max(4, int(size * 2.4 * FIELD_PX_PER_MM))
    for y in range(pitch // 2, count, pitch):
        for x in range(pitch // 2, count, pitch):
            shift = chance.normal(0, 0.2 * pitch, 2).astype(int)
            radius = max(1, int(size * FIELD_PX_PER_MM * chance.uniform(0.6, 1.1)))
            cv2.circle(dots, (x + int(shift[0]), y + int(shift[1])), radius, 1.0, -1, cv2.LINE_AA)
    soft = cv2.GaussianBlur(dots, (0, 0), 0.8)
    return as_image(colour + (tint - colour) * (0.75 * soft)[:, :, None])


def plug(chance: np.random.Generator, *, side_mm: float) -> Image:
    """Return the look of a plug's face on a square field, crusted here and there."""
    count = round(side_mm * FIELD_PX_PER_MM)
    base = np.array(PLUGS[chance.integers(len(PLUGS))], np.float32)
    crust = np.array(CRUSTS[chance.integers(len(CRUSTS))], np.float32)
    share = chance.uniform(-1.6, 0.2)
    spread = 1 / (1 + np.exp(-6 * (noise(chance, size=(count, count), coarse=48) + share)))
    colour = base + (crust - base) * (0.8 * spread)[:, :, None]
    grain = 1 + 0.10 * noise(chance, size=(count, count), coarse=8, octaves=3)
    return np.asarray((colour * grain[:, :, None]).clip(0.01, 0.95), np.float32)


def ground(chance: np.random.Generator, *, size: tuple[int, int]) -> Image:
    """Return what lies beneath everything: a tray, dim and uneven. Args: rows and columns."""
    small = (size[0] // 8 + 2, size[1] // 8 + 2)
    base = np.array(chance.uniform(0.03, 0.30, 3), np.float32) * 0.4 + chance.uniform(0.02, 0.2)
    uneven = 1 + 0.25 * noise(chance, size=small, coarse=24)
    coarse = (base * uneven[:, :, None]).clip(0.005, 0.9).astype(np.float32)
    return np.asarray(cv2.resize(coarse, (size[1], size[0]), interpolation=cv2.INTER_LINEAR))


def algae(
    chance: np.random.Generator, *, size: tuple[int, int], share: float, px_per_mm: float
) -> Image:
    """Return how thickly blobs of algae lie on a piece, from 0 to 1.

    Args: rows and columns, ``share`` of the area that they cover.
    """
    cover = np.zeros(size, np.float32)
    while share > 0 and (cover > 0.3).mean() < share:
        at = (int(chance.integers(size[1])), int(chance.integers(size[0])))
        half = chance.uniform(0.4, 2.0 if share < 0.15 else 3.5, 2) * px_per_mm
        axes = (max(1, int(half[0])), max(1, int(half[1])))
        cv2.ellipse(cover, at, axes, float(chance.uniform(0, 180)), 0, 360, 1.0, -1, cv2.LINE_AA)
    return np.asarray(cv2.GaussianBlur(cover, (0, 0), 0.25 * px_per_mm), np.float32)
