"""Scenes drawn by chance, each by its seed: at the card, at the label, racks, standards."""

import random
from dataclasses import replace

import numpy as np

from fraginv.base.rules import card
from fraginv.base.rules.codes import draw_code
from tests.growth.scenes.camera import Camera, looking
from tests.growth.scenes.scene import Bend, Frag, Glare, Scene, Sheet
from tests.growth.scenes.sensor import Look, some_look
from tests.growth.scenes.shapes import Shape, disc, ellipse, lumpy, some_coral, square
from tests.growth.scenes.textures import LARGE, RUNS, Run, printed_card, printed_label

Chance = np.random.Generator
# Pictures of 12 and 8 megapixels with lenses as wide as 26 mm on film.
SENSORS = ((4032, 3024), (3264, 2448))
FOCAL_35_MM = 26.0
CODES = 60
CARD_MIDDLE = (card.CARD_WIDTH_MM / 2, card.CARD_HEIGHT_MM / 2)
AROUND_PX = 40


def codes(count: int = CODES) -> list[str]:
    """Return codes, the same ones every time."""
    chance = random.Random(11)
    return [draw_code(chance.choice) for _ in range(count)]


def card_scene(seed: int, *, tilt_deg: float | None = None) -> Scene:
    """Return a frag on a plug in the window of the card, its label beside it."""
    chance = np.random.default_rng((1, seed))
    at = card.WINDOW.centre
    label = a_label(chance, at_mm=card.LABEL_PLACE.centre, spread_mm=1.5)
    camera = a_camera(
        chance,
        at_mm=(CARD_MIDDLE[0] + chance.normal(0, 6), CARD_MIDDLE[1] + chance.normal(0, 6)),
        distance_mm=chance.uniform(190, 450),
        tilt_deg=tilt_deg,
    )
    sheets = (Sheet(printed_card()), label)
    return framed(
        Scene(
            camera=camera,
            sheets=sheets,
            frags=(a_frag(chance, at_mm=at),),
            look=some_look(chance),
            glares=some_glares(chance, around_mm=CARD_MIDDLE, spread_mm=45),
            seed=seed,
        )
    )


def label_scene(seed: int, *, tilt_deg: float | None = None) -> Scene:
    """Return a frag on a plug beside its label, without a card.

    The printed label is the plane z = 0; half of the labels are a little lifted or curled.
    """
    chance = np.random.default_rng((2, seed))
    label = a_label(chance, at_mm=(28.0, 12.0), spread_mm=0.0, bends=bool(chance.integers(2)))
    at = (25 + chance.normal(0, 6), -12 - chance.uniform(6, 14))
    camera = a_camera(
        chance,
        at_mm=(25 + chance.normal(0, 5), -5 + chance.normal(0, 5)),
        distance_mm=chance.uniform(150, 420),
        tilt_deg=tilt_deg,
    )
    return framed(
        Scene(
            camera=camera,
            sheets=(label,),
            frags=(a_frag(chance, at_mm=at),),
            look=some_look(chance),
            glares=some_glares(chance, around_mm=(25.0, 0.0), spread_mm=25),
            seed=seed,
        )
    )


STANDARDS: tuple[Shape, ...] = (
    disc(15),
    disc(25),
    disc(32),
    square(15),
    square(25),
    ellipse(30, 18),
    ellipse(20, 14),
    lumpy(np.random.default_rng(3), diameter_mm=18),
    lumpy(np.random.default_rng(4), diameter_mm=30),
    lumpy(np.random.default_rng(5), diameter_mm=24, roughness=0.16),
)


def standard_scene(seed: int) -> Scene:
    """Return a shape of known size at the card; the same ten come again and again."""
    chance = np.random.default_rng((3, seed))
    height = chance.uniform(2, 20)
    frag = Frag(
        shape=STANDARDS[seed % len(STANDARDS)],
        at_mm=card.WINDOW.centre,
        height_mm=height,
        turn_deg=chance.uniform(0, 360),
        plug_mm=chance.choice([0.0, 20.0, 25.0]),
        plug_height_mm=height * chance.uniform(0.3, 0.9),
    )
    scene = card_scene(seed)
    return framed(
        Scene(
            camera=a_camera(
                chance,
                at_mm=(CARD_MIDDLE[0] + chance.normal(0, 6), CARD_MIDDLE[1] + chance.normal(0, 6)),
                distance_mm=chance.uniform(190, 450),
            ),
            sheets=(Sheet(printed_card()), a_label(chance, at_mm=card.LABEL_PLACE.centre)),
            frags=(frag,),
            look=scene.look,
            seed=seed,
        )
    )


def rack_scene(
    seed: int, *, columns: int = 8, rows: int = 5, run: Run = LARGE, algae: float = 0.03
) -> Scene:
    """Return a whole rack of frags, each with its label below it, in one photo of 12 MP."""
    chance = np.random.default_rng((4, seed))
    pitch = (run.width_mm + 6, run.height_mm + 42)
    middle = ((columns - 1) * pitch[0] / 2 + run.width_mm / 2, rows * pitch[1] / 2)
    focal = 3028.0
    wide = max((columns * pitch[0] + 16) / 4032, (rows * pitch[1] + 16) / 3024)
    camera = looking(
        at_mm=middle,
        distance_mm=focal * wide,
        tilt_deg=chance.uniform(0, 8),
        towards_deg=chance.uniform(0, 360),
        roll_deg=chance.normal(0, 1.5),
        focal_px=focal,
        k1=chance.normal(0, 0.01),
    )
    drawn = codes()
    start = int(chance.integers(len(drawn)))
    sheets, frags = [], []
    for index in range(columns * rows):
        x, y = (index % columns) * pitch[0], (index // columns) * pitch[1]
        printed = printed_label(drawn[(start + index) % len(drawn)], run)
        at = (x + chance.normal(0, 1), y + 38 + chance.normal(0, 1))
        fouled = algae * chance.choice([0, 1, 2])
        turn = chance.normal(0, 2)
        sheets.append(Sheet(printed.print, at, turn, algae=fouled, label=printed))
        frags.append(a_frag(chance, at_mm=(x + run.width_mm / 2, y + 15)))
    return Scene(camera, tuple(sheets), tuple(frags), some_look(chance), seed=seed, fine=3)


def pair_scene(seed: int, *, pair: tuple[str, str], algae: float) -> Scene:
    """Return two frags, each with its label; that of the second is turned and fouled.

    Args: the codes of the two; ``algae`` is the share of the second label that they hide.
    """
    chance = np.random.default_rng((5, seed))
    apart = chance.uniform(75, 100)
    first = a_label(chance, at_mm=(0.0, 0.0), code=pair[0], run=LARGE, algae=0.0)
    second = a_label(chance, at_mm=(0.0, 0.0), code=pair[1], run=LARGE, algae=algae)
    second = replace(second, at_mm=(0.0, 0.0), turn_deg=chance.uniform(0, 360), opacity=0.95)
    middle = second.in_scene(np.array([[LARGE.width_mm / 2, LARGE.height_mm / 2]]))[0]
    second = replace(second, at_mm=(apart - middle[0], -middle[1]))
    frags = tuple(a_frag(chance, at_mm=(x, -45.0)) for x in (0.0, apart))
    camera = a_camera(chance, at_mm=(apart / 2, -15.0), distance_mm=chance.uniform(220, 380))
    return framed(Scene(camera, (first, second), frags, some_look(chance), seed=seed))


def a_camera(
    chance: Chance,
    *,
    at_mm: tuple[float, float],
    distance_mm: float,
    tilt_deg: float | None = None,
) -> Camera:
    """Return a camera as a hand holds it."""
    size = SENSORS[int(chance.integers(2))]
    tilt = chance.uniform(0, 25) if tilt_deg is None else tilt_deg
    diagonal = float(np.hypot(*size))
    return looking(
        at_mm=at_mm,
        distance_mm=distance_mm,
        tilt_deg=tilt,
        towards_deg=chance.uniform(0, 360),
        roll_deg=90 * chance.integers(4) + chance.normal(0, 8),
        focal_px=FOCAL_35_MM * chance.uniform(0.98, 1.02) * diagonal / 43.2666,
        size=size,
        k1=chance.normal(0, 0.01),
    )


def framed(scene: Scene) -> Scene:
    """Return the scene on a part of the sensor around the axis that just holds all that lies there.

    The optical axis stays in the middle, so that the photo is that of a smaller sensor.
    """
    camera = scene.camera
    middle = np.array(camera.centre)
    reach = np.zeros(2)
    for sheet in scene.sheets:
        width, height = sheet.printed.size_mm
        rim = np.array([[0.0, 0], [width, 0], [width, height], [0, height]])
        seen = camera.to_pixels(sheet.in_scene(rim), sheet.rise(rim))
        reach = np.maximum(reach, np.abs(seen - middle).max(0))
    for frag in scene.frags:
        seen = camera.to_pixels(frag.outline_mm, frag.height_mm)
        reach = np.maximum(reach, np.abs(seen - middle).max(0) + AROUND_PX)
    width, height = (2 * int(side) + AROUND_PX for side in reach)
    smaller = camera.framed(min(width, camera.width), min(height, camera.height))
    return Scene(
        smaller, scene.sheets, scene.frags, scene.look, scene.glares, scene.seed, scene.fine
    )


def a_label(
    chance: Chance,
    *,
    at_mm: tuple[float, float],
    spread_mm: float = 1.0,
    bends: bool = False,
    run: Run | None = None,
    algae: float | None = None,
    code: str = "",
) -> Sheet:
    """Return a label around a place; half of all are fouled by algae, up to 15 % of them.

    Args: ``run``, ``algae`` and ``code`` are drawn by chance where they are not given.
    """
    drawn = RUNS[int(chance.integers(len(RUNS)))]
    any_of_them = codes()[int(chance.integers(CODES))]
    printed = printed_label(code or any_of_them, run or drawn)
    fouled = chance.integers(2) * chance.uniform(0, 0.15) if algae is None else algae
    turn = chance.normal(0, 2)
    width, height = printed.print.size_mm
    corner = np.array(at_mm) + chance.normal(0, 1, 2) * spread_mm - (width / 2, height / 2)
    bend = Bend()
    if bends:
        lean = chance.normal(0, 0.006, 2)
        bend = Bend(chance.uniform(0, 0.3), (lean[0], lean[1]), chance.uniform(0, 0.5))
    return Sheet(
        printed.print,
        (corner[0], corner[1]),
        turn,
        bend,
        algae=float(fouled),
        opacity=chance.uniform(0.45, 0.95),
        label=printed,
    )


def a_frag(chance: Chance, *, at_mm: tuple[float, float]) -> Frag:
    """Return a coral on a plug, not quite in its middle."""
    plug = float(chance.choice([20.0, 25.0, 25.0, 30.0]))
    foot = chance.uniform(3, 10)
    diameter = chance.uniform(0.4, 1.15) * plug
    shift = chance.normal(0, 0.06 * plug, 2)
    at = (at_mm[0] + shift[0], at_mm[1] + shift[1])
    return Frag(
        shape=some_coral(chance, diameter_mm=max(9.0, diameter)),
        at_mm=at,
        height_mm=foot + chance.uniform(2, 11),
        turn_deg=chance.uniform(0, 360),
        plug_mm=plug,
        plug_height_mm=foot,
        plug_at_mm=at_mm,
    )


def some_glares(
    chance: Chance, *, around_mm: tuple[float, float], spread_mm: float
) -> tuple[Glare, ...]:
    """Return reflections of the lamp, mostly none."""
    return tuple(
        Glare(
            (
                around_mm[0] + chance.normal(0, spread_mm),
                around_mm[1] + chance.normal(0, spread_mm),
            ),
            size_mm=chance.uniform(0.8, 6),
            light=chance.uniform(0.2, 1.5),
        )
        for _ in range(int(chance.choice([0, 0, 1, 2])))
    )


def plain_look() -> Look:
    """Return a sharp photo in white light, for tests of one thing at a time."""
    return Look(blur_px=0.6, noise=0.003, quality=95)
