"""From light to a file: lens blur, motion, colour of the lamp, noise, tone curve, JPEG, Exif."""

import struct
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

from tests.growth.scenes.camera import Grey, Image, as_image

STEPS = 4096
NOISE_SIDE = 1024
STRIP = 64
EXIF_POINTER, FOCAL_35, ORIENTATION = 0x8769, 0xA405, 0x0112
# How an upright picture is stored under each Exif orientation: quarter turns to the left.
STORED = {1: 0, 3: 2, 6: 1, 8: 3}


@dataclass(frozen=True)
class Look:
    """Say how a photo is taken.

    ``cast`` are the lamp's red, green and blue; ``blur_px`` a deviation, ``motion_px`` a
    length; ``noise`` the deviation at full light in parts of it; ``sharpening`` as a phone's.
    """

    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)
    exposure: float = 1.0
    blur_px: float = 0.7
    motion_px: float = 0.0
    motion_deg: float = 0.0
    noise: float = 0.006
    sharpening: float = 0.0
    quality: int = 90


def some_look(chance: np.random.Generator) -> Look:
    """Return a look such as photos above a trough have: mostly blue, never quite sharp."""
    blue = chance.uniform(0, 1)
    return Look(
        cast=(1 - 0.6 * blue, 1 - 0.3 * blue, 1.0),
        exposure=chance.uniform(0.8, 1.25),
        blur_px=chance.uniform(0.5, 1.3),
        motion_px=chance.choice([0, 0, 1]) * chance.uniform(0, 3),
        motion_deg=chance.uniform(0, 180),
        noise=chance.uniform(0.003, 0.015),
        sharpening=chance.choice([0, 0.4]),
        quality=int(chance.integers(78, 96)),
    )


def exposed(light: Image, look: Look, *, chance: np.random.Generator) -> Grey:
    """Turn linear light (h, w, 3) into what a phone's processor gives, RGB of 8 bits."""
    light = light * (np.array(look.cast, np.float32) * look.exposure)
    if look.motion_px > 0.3:
        kernel = motion_kernel(look.motion_px, look.motion_deg)
        light = as_image(cv2.filter2D(light, -1, kernel))
    if look.blur_px > 0:
        light = as_image(cv2.GaussianBlur(light, (0, 0), look.blur_px))
    tone, grain = curves(round(look.noise, 4))
    shift = int(chance.integers(NOISE_SIDE))
    seen = np.empty(light.shape, np.uint8)
    for top in range(0, len(light), STRIP):
        index = light[top : top + STRIP] * np.float32(STEPS - 1)
        index = index.clip(0, STEPS - 1).astype(np.uint16)
        noise = noise_strip((top + shift) % NOISE_SIDE, light.shape[1])[: len(index)]
        strip = tone[index] + grain[index] * noise
        seen[top : top + STRIP] = cv2.convertScaleAbs(strip.clip(0, 255))
    if look.sharpening:
        soft = cv2.GaussianBlur(seen, (0, 0), 1.2)
        sharp = cv2.addWeighted(seen, 1 + look.sharpening, soft, -look.sharpening, 0)
        return np.asarray(sharp, np.uint8)
    return seen


@lru_cache(maxsize=64)
def curves(noise: float) -> tuple[Image, Image]:
    """Return the tone for each step of light, and the noise there, both of 255.

    Source: IEC 61966-2-1 (sRGB). Noise of light is Poisson's, and a little of reading.
    """
    light = np.linspace(0, 1, STEPS)
    tone = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    slope = np.gradient(tone, light)
    grain = slope * np.sqrt(noise**2 * light + (noise / 6) ** 2)
    return (255 * tone).astype(np.float32), (255 * grain.clip(0, 0.08)).astype(np.float32)


@lru_cache(maxsize=1)
def noise_block() -> Image:
    """Return a block of noise that is used again and again, from places drawn by chance."""
    size = (NOISE_SIDE + STRIP, NOISE_SIDE, 3)
    block = np.random.default_rng(1).standard_normal(size, np.float32)
    # A phone's processor smooths its noise a little.
    return np.asarray(cv2.GaussianBlur(block, (0, 0), 0.5) * 1.6, np.float32)


def noise_strip(top: int, width: int) -> Image:
    """Return a strip of noise, the block's rows from one on, again and again along it."""
    start = top * 37 % NOISE_SIDE
    rows = np.roll(noise_block()[top : top + STRIP], start, 1)
    return np.tile(rows, (1, -(-width // NOISE_SIDE), 1))[:, :width]


def motion_kernel(length_px: float, degrees: float) -> Image:
    """Return the path of a shaking hand as weights of pixels."""
    side = 2 * int(np.ceil(length_px / 2)) + 3
    kernel = np.zeros((side, side), np.float32)
    along = np.linspace(-0.5, 0.5, 64) * length_px
    x = side // 2 + along * np.cos(np.radians(degrees))
    y = side // 2 + along * np.sin(np.radians(degrees))
    for dx in (0, 1):
        for dy in (0, 1):
            weight = np.abs(1 - dx - (x % 1)) * np.abs(1 - dy - (y % 1))
            np.add.at(kernel, (y.astype(int) + dy, x.astype(int) + dx), weight)
    return as_image(kernel / kernel.sum())


def jpeg_of(
    rgb: Grey, *, quality: int, focal_35_mm: int | None = None, orientation: int = 1
) -> bytes:
    """Write a picture as a phone does, its Exif saying what lens and which side is up.

    Args: ``focal_35_mm`` None leaves all of the lens out.
    """
    stored = np.ascontiguousarray(np.rot90(rgb, STORED[orientation])[:, :, ::-1])
    _, data = cv2.imencode(".jpg", stored, [cv2.IMWRITE_JPEG_QUALITY, quality])
    exif = exif_of(focal_35_mm, orientation=orientation)
    return data[:2].tobytes() + exif + data[2:].tobytes()


def exif_of(focal_35_mm: int | None, *, orientation: int) -> bytes:
    """Return the marker with Exif. Source: CIPA DC-008, Exif 2.32; TIFF 6.0, from memory."""
    if focal_35_mm is None and orientation == 1:
        return b""
    head = b"II*\x00" + struct.pack("<I", 8)
    entries = [(ORIENTATION, 3, 1, orientation)]
    if focal_35_mm is not None:
        entries.append((EXIF_POINTER, 4, 1, 8 + 2 + 12 * 2 + 4))
    first = directory(entries)
    second = directory([(FOCAL_35, 3, 1, focal_35_mm)]) if focal_35_mm is not None else b""
    body = b"Exif\x00\x00" + head + first + second
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body


def directory(entries: list[tuple[int, int, int, int]]) -> bytes:
    """Return one directory of TIFF: tag, kind, count and value of each entry."""
    packed = b"".join(struct.pack("<HHII", *entry) for entry in entries)
    return struct.pack("<H", len(entries)) + packed + struct.pack("<I", 0)


def grey_of(rgb: Grey) -> Grey:
    """Return the grey of a picture as JPEG's luma. Source: ITU-R BT.601."""
    return np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY))
