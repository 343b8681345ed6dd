"""Photographing a scene: every part is laid over the ones beneath it, in linear light."""

from collections.abc import Callable
from typing import TypedDict

import cv2
import numpy as np
import numpy.typing as npt

from tests.growth.scenes import looks
from tests.growth.scenes.camera import Array, Camera, Image, as_image
from tests.growth.scenes.paint import (
    Relief,
    Window,
    coverage,
    flat_at,
    lay_over,
    sampled,
    window_around,
)
from tests.growth.scenes.scene import Frag, Glare, Scene, SeenFrag, SeenLabel, Sheet, Shot
from tests.growth.scenes.sensor import exposed, jpeg_of
from tests.growth.scenes.textures import INK, PAPER

EDGE_POINTS = 24
ALGAE_PX_PER_MM = 8.0
TAP_MM = 0.8
Chance = np.random.Generator


class Where(TypedDict):
    """Say where a sheet lies, for sampling it."""

    camera: Camera
    relief: Relief
    onto: Callable[[Array], Array]


def photograph(scene: Scene) -> Shot:
    """Return the photo as it stands in the file, and what is true of it."""
    chance = np.random.default_rng(scene.seed)
    camera = scene.camera
    light = looks.ground(chance, size=(camera.height, camera.width))
    fouled = [lay_sheet(light, sheet, scene=scene, chance=chance) for sheet in scene.sheets]
    for frag in scene.frags:
        stand_frag(light, frag, camera=camera, chance=chance)
    for glare in scene.glares:
        shine(light, glare, camera=camera)
    rgb = exposed(light, scene.look, chance=chance)
    data = jpeg_of(rgb, quality=scene.look.quality)
    stored = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR_RGB)
    labels = (
        seen_label(sheet, share, scene=scene)
        for sheet, share in zip(scene.sheets, fouled, strict=True)
    )
    return Shot(
        rgb=np.asarray(stored),
        camera=camera,
        labels=tuple(label for label in labels if label is not None),
        frags=tuple(seen_frag(frag, camera=camera, chance=chance) for frag in scene.frags),
        look=scene.look,
    )


def lay_sheet(light: Image, sheet: Sheet, *, scene: Scene, chance: Chance) -> float:
    """Lay a printed piece into the light; return which share of its symbol is fouled."""
    camera, fine = scene.camera, scene.fine
    rim = edge_of(*sheet.printed.size_mm)
    outline = camera.to_pixels(sheet.in_scene(rim), sheet.rise(rim))
    window = window_around(outline, within=camera)
    cover, share = algae_on(sheet, chance=chance)
    if window.is_empty:
        return share
    middle = sheet.in_scene(rim.mean(0)[None])[0]
    scale = camera.px_per_mm((middle[0], middle[1]))
    pixels, px_per_mm = sheet.printed.at_scale(scale * fine)
    where: Where = {"camera": camera, "relief": sheet.relief, "onto": sheet.on_sheet}
    seen = sampled(pixels, window, **where, px_per_mm=px_per_mm, fine=fine)
    size = (window.width, window.height)
    shown = cv2.resize(seen.astype(np.float32), size, interpolation=cv2.INTER_AREA) / 255
    colour = as_image(INK + (PAPER - INK) * shown)[:, :, None]
    if cover is not None:
        over = sampled(cover, window, **where, px_per_mm=ALGAE_PX_PER_MM, fine=1)[:, :, None]
        over = over * sheet.opacity
        tint = np.array(looks.CRUSTS[chance.integers(len(looks.CRUSTS))], np.float32)
        colour = as_image(colour * (1 - over) + tint * over)
    lay_over(light, window, colour, coverage(outline, window))
    return share


def edge_of(width: float, height: float) -> Array:
    """Return points all round a sheet."""
    along = np.linspace(0, 1, EDGE_POINTS, endpoint=False)
    none, all_ = np.zeros(EDGE_POINTS), np.ones(EDGE_POINTS)
    x = np.concatenate([along, all_, 1 - along, none])
    y = np.concatenate([none, along, all_, 1 - along])
    return np.column_stack([x * width, y * height])


def algae_on(sheet: Sheet, *, chance: Chance) -> tuple[Image | None, float]:
    """Return how thickly algae lie on a sheet, and which share of its symbol they cover."""
    if sheet.algae <= 0:
        return None, 0.0
    width, height = sheet.printed.size_mm
    size = (round(height * ALGAE_PX_PER_MM), round(width * ALGAE_PX_PER_MM))
    cover = looks.algae(chance, size=size, share=sheet.algae, px_per_mm=ALGAE_PX_PER_MM)
    if sheet.label is None:
        return cover, 0.0
    low, high = (sheet.label.corners_mm[[0, 2]] * ALGAE_PX_PER_MM).round().astype(int)
    return cover, float((cover[low[1] : high[1], low[0] : high[0]] > 0.3).mean())


def stand_frag(light: Image, frag: Frag, *, camera: Camera, chance: Chance) -> None:
    """Stand a plug and a coral into the light, with the shadows that they throw."""
    if frag.plug_mm:
        stand_plug(light, frag, camera=camera, chance=chance)
    outline, height = frag.outline_mm, frag.height_mm
    foot = frag.plug_height_mm
    middle = np.array(frag.at_mm)
    scale = camera.px_per_mm(frag.at_mm, height_mm=height)
    shade(light, camera.to_pixels(outline, foot), camera=camera, soft_px=1.2 * scale, dark=0.45)
    low = middle - 1 - np.abs(outline - middle).max()
    side = 2 * float((middle - low).max())
    look = looks.tissue(chance, outline_mm=outline, low_mm=low, side_mm=side)
    stem = np.vstack(
        [
            camera.to_pixels(middle + 0.55 * (outline - middle), foot),
            camera.to_pixels(middle + 0.8 * (outline - middle), height),
        ]
    )
    hull = cv2.convexHull(stem.astype(np.float32)).reshape(-1, 2).astype(float)
    fill(light, hull, camera=camera, colour=look.mean((0, 1)) * 0.3)
    seen = camera.to_pixels(outline, height)
    window = window_around(seen, within=camera)
    if window.is_empty:
        return
    colour = field_at(look, window, camera=camera, low_mm=low, height_mm=height)
    lay_over(light, window, colour, coverage(seen, window))


def field_at(
    look: Image, window: Window, *, camera: Camera, low_mm: Array, height_mm: float
) -> Image:
    """Return what a window shows of a field of colours in the plane at a height."""
    return sampled(
        look,
        window,
        camera=camera,
        relief=flat_at(height_mm),
        onto=lambda points: points - low_mm,
        px_per_mm=looks.FIELD_PX_PER_MM,
        fine=1,
    )


def stand_plug(light: Image, frag: Frag, *, camera: Camera, chance: Chance) -> None:
    """Stand a plug: its side, and its face with a rim."""
    middle = np.array(frag.plug_at_mm or frag.at_mm)
    turn = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * frag.plug_mm / 2
    foot, rim = (camera.to_pixels(middle + ring, z) for z in (0.0, frag.plug_height_mm))
    scale = camera.px_per_mm(frag.at_mm)
    shade(light, foot, camera=camera, soft_px=1.5 * scale, dark=0.5)
    look = looks.plug(chance, side_mm=frag.plug_mm + 2)
    hull = cv2.convexHull(np.vstack([foot, rim]).astype(np.float32)).reshape(-1, 2)
    fill(light, hull.astype(float), camera=camera, colour=look.mean((0, 1)) * 0.4)
    window = window_around(rim, within=camera)
    if window.is_empty:
        return
    low = middle - frag.plug_mm / 2 - 1
    colour = field_at(look, window, camera=camera, low_mm=low, height_mm=frag.plug_height_mm)
    lay_over(light, window, colour, coverage(rim, window))


def shade(light: Image, outline_px: Array, *, camera: Camera, soft_px: float, dark: float) -> None:
    """Darken what lies beneath and around an outline, softly."""
    window = window_around(outline_px, within=camera, margin=round(3 * soft_px))
    if window.is_empty:
        return
    mask = cv2.GaussianBlur(coverage(outline_px, window), (0, 0), soft_px)
    light[window.slices] *= (1 - dark * mask)[:, :, None]


def fill(light: Image, outline_px: Array, *, camera: Camera, colour: Array | Image) -> None:
    """Lay one colour into an outline."""
    window = window_around(outline_px, within=camera)
    if not window.is_empty:
        lay_over(light, window, np.asarray(colour, np.float32), coverage(outline_px, window))


def shine(light: Image, glare: Glare, *, camera: Camera) -> None:
    """Add a reflection of the lamp."""
    at = camera.to_pixels(np.array([glare.at_mm]))[0]
    size = glare.size_mm * camera.px_per_mm(glare.at_mm)
    window = window_around(np.array([at - 3.5 * size, at + 3.5 * size]), within=camera)
    if window.is_empty:
        return
    x = np.arange(window.left, window.left + window.width) - at[0]
    y = np.arange(window.top, window.top + window.height) - at[1]
    bell = np.exp(-(y[:, None] ** 2) / (2 * size**2)) * np.exp(-(x**2) / (2 * size**2))
    light[window.slices] += (glare.light * bell).astype(np.float32)[:, :, None]


def seen_label(sheet: Sheet, fouled: float, *, scene: Scene) -> SeenLabel | None:
    """Return what is true of a label in the photo; None for a sheet without a code."""
    label, camera = sheet.label, scene.camera
    if label is None:
        return None
    corners = camera.to_pixels(sheet.in_scene(label.corners_mm), sheet.rise(label.corners_mm))
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
    return SeenLabel(
        code=label.code,
        text=label.text,
        corners_px=corners,
        module_px=float(sides.min() / label.fit.modules),
        symbol_mm=label.fit.symbol_mm,
        version=label.fit.version,
        fouled=fouled,
        is_hidden=is_hidden(corners, scene=scene),
    )


def is_hidden(corners_px: Array, *, scene: Scene) -> bool:
    """Tell whether a coral or plug stands before a symbol, or it is not all in the picture."""
    camera = scene.camera
    size = (camera.width - 1, camera.height - 1)
    if (corners_px < 0).any() or (corners_px > size).any():
        return True
    window = window_around(corners_px, within=camera)
    symbol = coverage(corners_px, window) > 0
    return any(
        (covered := coverage_of(outline, window)) is not None and bool((symbol & covered).any())
        for frag in scene.frags
        for outline in before(frag, camera=camera)
    )


def before(frag: Frag, *, camera: Camera) -> list[Array]:
    """Return what of a frag may stand before something, in pixels."""
    outlines = [camera.to_pixels(frag.outline_mm, frag.height_mm)]
    if frag.plug_mm:
        turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
        ring = np.column_stack([np.cos(turn), np.sin(turn)]) * frag.plug_mm / 2
        middle = np.array(frag.plug_at_mm or frag.at_mm)
        outlines += [camera.to_pixels(middle + ring, z) for z in (0.0, frag.plug_height_mm)]
    return outlines


def coverage_of(outline_px: Array, window: Window) -> npt.NDArray[np.bool_] | None:
    """Return where an outline lies in a window, or None when it is elsewhere."""
    low, high = outline_px.min(0), outline_px.max(0)
    right, bottom = window.left + window.width, window.top + window.height
    if low[0] > right or low[1] > bottom or high[0] < window.left or high[1] < window.top:
        return None
    return np.asarray(coverage(outline_px, window) > 0)


def seen_frag(frag: Frag, *, camera: Camera, chance: Chance) -> SeenFrag:
    """Return what is true of a coral in the photo, and where a person might tap it."""
    middle = np.array([frag.at_mm]) + chance.normal(0, TAP_MM, (1, 2))
    tap = camera.to_pixels(middle, frag.height_mm)[0]
    return SeenFrag(
        name=frag.shape.name,
        outline_mm=frag.outline_mm,
        outline_px=camera.to_pixels(frag.outline_mm, frag.height_mm),
        height_mm=frag.height_mm,
        area_mm2=frag.shape.area_mm2,
        diameter_mm=frag.shape.diameter_mm,
        tap_px=(float(tap[0]), float(tap[1])),
        plug_mm=frag.plug_mm,
    )
