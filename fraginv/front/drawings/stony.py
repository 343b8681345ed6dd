"""Stony corals: branches, tentacles, and thick flesh in stripes."""

from math import atan2, cos, pi, sin
from random import Random

from fraginv.front.drawings.curves import bell, cosine, higher, rounded, share, sine
from fraginv.front.drawings.ground import MIDDLE, TOP
from fraginv.front.drawings.palette import Palette
from fraginv.front.drawings.surface import (
    Array,
    Paint,
    Point,
    Surface,
    bend,
    disc,
    dome,
    mix,
    rod,
)


def draw_branches(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a branching small-polyp coral: a crust, branches with pale tips, and cups on them."""
    spread = 70 + 250 * growth
    draw_crust(surface, palette=palette, chance=chance, radius=70 + 150 * growth)
    count = int(8 + 20 * growth)
    for number in range(count):
        turn = 2 * pi * number * 0.618 + chance.uniform(-0.3, 0.3)
        far = spread * (0.18 + 0.82 * (number / count) ** 0.6)
        start = (MIDDLE + cos(turn) * far * 0.18, MIDDLE + sin(turn) * far * 0.18, TOP + 6)
        height = TOP + 40 + (spread * 1.05 - far * 0.62) * chance.uniform(0.75, 1.05)
        end = (MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far, height)
        draw_branch(surface, start, end, palette=palette, chance=chance, thick=17 + 11 * growth)


def draw_branch(
    surface: Surface, start: Point, end: Point, *, palette: Palette, chance: Random, thick: float
) -> None:
    """Draw one branch with side branches and the cups of its polyps."""
    points = bend(start, end, bow=chance.uniform(-0.16, 0.16), steps=4)
    stages = len(points) - 1
    for step in range(stages):
        low, high = step / stages, (step + 1) / stages
        radii = (thick * (1 - 0.42 * low), thick * (1 - 0.42 * high))
        last = step == stages - 1
        paints = (
            between(palette.shade, palette.body, low),
            palette.pale if last else between(palette.shade, palette.body, high),
        )
        rod(surface, points[step], points[step + 1], thick=radii, paint=paints)
        draw_cups(
            surface, points[step], points[step + 1], palette=palette, chance=chance, radii=radii
        )
        if step >= 1 and chance.random() < 0.85:
            draw_twig(surface, points[step], end, palette=palette, chance=chance, thick=thick)
    x, y, z = points[-1]
    dome(surface, x, y, thick * 0.36, base=z + thick * 0.42, rise=6, paint=palette.tip)


def draw_twig(
    surface: Surface, start: Point, end: Point, *, palette: Palette, chance: Random, thick: float
) -> None:
    """Draw a short side branch with a pale end."""
    x, y, z = start
    turn = chance.uniform(0, 2 * pi)
    span = chance.uniform(28, 62)
    tip = (x + cos(turn) * span, y + sin(turn) * span, z + chance.uniform(14, 44))
    rod(
        surface,
        (x, y, z + 2),
        tip,
        thick=(thick * 0.62, thick * 0.36),
        paint=(palette.body, palette.pale),
    )
    dome(
        surface, tip[0], tip[1], thick * 0.26, base=tip[2] + thick * 0.2, rise=4, paint=palette.tip
    )


def draw_cups(
    surface: Surface,
    start: Point,
    end: Point,
    *,
    palette: Palette,
    chance: Random,
    radii: tuple[float, float],
) -> None:
    """Draw the small cups along a piece of a branch."""
    turn = atan2(end[1] - start[1], end[0] - start[0]) + pi / 2
    for _ in range(6):
        part, side = chance.random(), chance.uniform(-0.85, 0.85)
        radius = radii[0] + (radii[1] - radii[0]) * part
        x = start[0] + (end[0] - start[0]) * part + cos(turn) * side * radius
        y = start[1] + (end[1] - start[1]) * part + sin(turn) * side * radius
        z = start[2] + (end[2] - start[2]) * part + radius * (1 - side * side) ** 0.5
        dome(surface, x, y, 5.2, base=z - 1, rise=5, paint=palette.body)
        dome(surface, x, y, 2.4, base=z + 2.6, rise=2, paint=palette.second)


def between(first: Paint, second: Paint, share: float) -> Paint:
    """Return a paint between two."""
    red, green, blue = (
        a + (b - a) * share for a, b in zip(first.colour, second.colour, strict=True)
    )
    return Paint((red, green, blue), first.glow + (second.glow - first.glow) * share)


def draw_crust(surface: Surface, *, palette: Palette, chance: Random, radius: float) -> None:
    """Draw living flesh that has grown over the plug around the foot, with cups on it."""
    draw_mat(surface, chance=chance, radius=radius, inner=palette.shade, rim=palette.pale)
    for _ in range(int(radius * 0.7)):
        turn, far = chance.uniform(0, 2 * pi), radius * 0.72 * chance.random() ** 0.5
        x, y = MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far
        dome(surface, x, y, 6.5, base=TOP + 11, rise=7, paint=palette.body)
        dome(surface, x, y, 2.8, base=TOP + 16.5, rise=2, paint=palette.second)


def draw_mat(surface: Surface, *, chance: Random, radius: float, inner: Paint, rim: Paint) -> None:
    """Draw a thin sheet of flesh with a wavy edge over the plug."""
    shift = chance.uniform(0, 6)

    def outline(angle: Array) -> Array:
        return 0.82 + 0.10 * sine(3 * angle + shift) + 0.06 * sine(7 * angle + 2 * shift)

    def relief(away: Array, angle: Array) -> Array:
        return TOP + 2 + 12 * rounded(1 - away**4)

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        edge = share((away - 0.82) * 8)
        return mix(inner.colour, rim.colour, edge), inner.glow + (rim.glow - inner.glow) * edge

    disc(surface, MIDDLE, MIDDLE, radius, outline=outline, relief=relief, paint=paint)


def draw_tentacles(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw heads of a large-polyp coral with long tentacles, each with a bright end."""
    heads = max(1, round(1 + 3.2 * growth))
    ring = 0 if heads == 1 else 92 + 34 * growth
    start = chance.uniform(0, 2 * pi)
    for head in range(heads):
        turn = start + 2 * pi * head / heads
        x, y = MIDDLE + cos(turn) * ring, MIDDLE + sin(turn) * ring
        dome(surface, x, y, 62, base=TOP, rise=58, paint=palette.shade)
        count = int(52 + 26 * growth)
        for number in range(count):
            aim = number * 2.39996 + chance.uniform(-0.25, 0.25)
            near = (number / count) ** 0.5
            foot = (x + cos(aim) * 52 * near, y + sin(aim) * 52 * near, TOP + 96 - 52 * near)
            far = 50 + 82 * near + chance.uniform(-10, 14)
            tip = (x + cos(aim) * far, y + sin(aim) * far, TOP + 128 - 70 * near)
            draw_tentacle(surface, foot, tip, palette=palette, chance=chance)


def draw_tentacle(
    surface: Surface, foot: Point, tip: Point, *, palette: Palette, chance: Random
) -> None:
    """Draw one tentacle that ends in a ball."""
    points = bend(foot, tip, bow=chance.uniform(-0.3, 0.3), steps=2)
    rod(surface, points[0], points[1], thick=(8.5, 8), paint=(palette.shade, palette.body))
    rod(surface, points[1], points[2], thick=(8, 7), paint=(palette.body, palette.body))
    x, y, z = points[2]
    dome(surface, x, y, chance.uniform(9.5, 12), base=z + 1, rise=12, paint=palette.tip)


def draw_flesh(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw corallites packed side by side: thick striped flesh around a bright mouth."""
    count = max(2, round(2 + 7 * growth))
    radius = 124 - 22 * growth
    for number in range(count):
        turn, far = number * 2.39996 + chance.uniform(-0.1, 0.1), radius * 0.80 * number**0.5
        size = radius * chance.uniform(0.86, 1.08)
        x, y = MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far
        draw_corallite(surface, x, y, size, palette=palette, chance=chance)


def draw_corallite(
    surface: Surface, x: float, y: float, radius: float, *, palette: Palette, chance: Random
) -> None:
    """Draw one corallite."""
    shift, ribs = chance.uniform(0, 6), chance.choice((18, 20, 22))

    def outline(angle: Array) -> Array:
        return 0.95 + 0.04 * sine(2 * angle + shift) + 0.03 * sine(5 * angle - shift)

    def relief(away: Array, angle: Array) -> Array:
        wall = 34 * bell((away - 0.68) / 0.24) + 13 * bell(away / 0.16)
        puffs = 5.5 * cosine(ribs * angle + shift) * share(away * 2 - 0.35)
        edge = rounded((1 - away) * 5)
        return TOP + (8 + wall + puffs) * edge

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        stripe = share(1.3 * cosine(ribs * angle + shift)) * share(away * 3 - 0.7)
        ground = mix(palette.second.colour, palette.body.colour, (away - 0.34) * 7)
        colour = mix(ground, palette.pale.colour, stripe * 0.55)
        rim = share((away - 0.86) * 9)
        colour = mix(colour, palette.tip.colour, rim)
        mouth = share((0.13 - away) * 18)
        return mix(colour, palette.tip.colour, mouth), 0.45 + 0.35 * higher(mouth, rim)

    disc(surface, x, y, radius, outline=outline, relief=relief, paint=paint)
