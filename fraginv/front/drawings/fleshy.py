"""Corals without a skeleton: zoanthids, mushrooms, leathers and trees, fans, anemones."""

from math import cos, pi, sin
from random import Random

from fraginv.front.drawings.curves import bell, cosine, higher, rounded, share, sine, size_of
from fraginv.front.drawings.ground import MIDDLE, PLUG, TOP
from fraginv.front.drawings.palette import Palette
from fraginv.front.drawings.stony import between, draw_mat, draw_tentacle
from fraginv.front.drawings.surface import Array, Paint, Point, Surface, bend, disc, dome, mix, rod


def draw_zoanthids(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a mat of polyps, each a fringed disc with rings."""
    count = round(4 + 30 * growth)
    size = 66 - 9 * growth
    flesh = between(palette.shade, Paint((0.2, 0.14, 0.12)), 0.6)
    mat = min(PLUG * 0.98, size * 0.8 * (count**0.5 + 0.8))
    draw_mat(surface, chance=chance, radius=mat, inner=flesh, rim=flesh)
    for number in range(count):
        turn = number * 2.39996 + chance.uniform(-0.15, 0.15)
        far = size * 0.80 * (number + 0.4) ** 0.5
        x, y = MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far
        base = TOP + 34 - far * 0.05 + chance.uniform(0, 16)
        draw_polyp(
            surface,
            (x, y, base),
            radius=size * chance.uniform(0.84, 1.12),
            palette=palette,
            chance=chance,
        )


def draw_polyp(
    surface: Surface, place: Point, *, radius: float, palette: Palette, chance: Random
) -> None:
    """Draw one polyp: fringe, ring, disc and mouth."""
    x, y, base = place
    shift, fringe = chance.uniform(0, 6), chance.choice((22, 24, 26))

    def outline(angle: Array) -> Array:
        return 0.88 + 0.12 * cosine(fringe * angle + shift)

    def relief(away: Array, angle: Array) -> Array:
        bowl = 13 * away**2 - 16 * share(away - 0.72) ** 2 * 6
        lips = 5 * bell((away - 0.15) / 0.08)
        hairs = 4 * cosine(fringe * angle + shift) * share(away * 3 - 1.9)
        return base + bowl + lips + hairs

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        rays = 0.22 * cosine(fringe / 2 * angle + shift) * share(away * 4 - 0.8)
        colour = mix(palette.body.colour, palette.shade.colour, away * 1.1 - 0.35 + rays)
        ring = share(1 - size_of(away - 0.64) / 0.075)
        colour = mix(colour, palette.tip.colour, ring)
        hair = share((away - 0.72) * 12)
        colour = mix(colour, palette.second.colour, hair)
        mouth = share((0.17 - away) * 15)
        colour = mix(colour, palette.pale.colour, mouth)
        slit = share(1.4 - size_of(sine(angle + shift)) * away * 60) * (away < 0.11)
        return mix(colour, (0.05, 0.05, 0.1), slit), 0.42 + 0.35 * higher(ring, hair)

    disc(surface, x, y, radius, outline=outline, relief=relief, paint=paint)


def draw_mushrooms(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw broad wavy discs with rays of bumps."""
    count = max(1, round(1 + 3 * growth))
    ring = 0 if count == 1 else 112
    start = chance.uniform(0, 2 * pi)
    for number in range(count):
        turn = start + 2 * pi * number / count
        draw_cap(
            surface,
            (MIDDLE + cos(turn) * ring, MIDDLE + sin(turn) * ring, TOP + 22 + 9 * number),
            radius=chance.uniform(150, 185) * (0.72 + 0.28 * growth),
            palette=palette,
            chance=chance,
        )


def draw_cap(
    surface: Surface, place: Point, *, radius: float, palette: Palette, chance: Random
) -> None:
    """Draw one mushroom's disc."""
    x, y, base = place
    shift, rays = chance.uniform(0, 6), chance.choice((26, 30, 34))

    def outline(angle: Array) -> Array:
        return 0.9 + 0.06 * sine(4 * angle + shift) + 0.04 * sine(9 * angle - shift)

    def bumps(away: Array, angle: Array) -> Array:
        ray = share(cosine(rays * angle + shift))
        beads = share(sine(away * 40 + shift))
        return ray * beads * share(away * 5 - 1)

    def relief(away: Array, angle: Array) -> Array:
        wave = 9 * sine(4 * angle + shift + 1) * away**2
        edge = rounded((1 - away) * 7)
        mouth = 15 * bell(away / 0.13)
        return base + (15 + wave + 7 * bumps(away, angle) + mouth) * edge

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        streak = 0.5 + 0.5 * cosine(rays / 2 * angle + 2.5 * sine(3 * angle) + shift)
        colour = mix(palette.body.colour, palette.shade.colour, away * 0.7 + 0.4 * streak - 0.25)
        dots = bumps(away, angle)
        colour = mix(colour, palette.second.colour, dots * 1.2)
        rim = share((away - 0.88) * 14)
        colour = mix(colour, palette.tip.colour, rim)
        mouth = share((0.13 - away) * 14)
        return mix(colour, palette.pale.colour, mouth), 0.38 + 0.4 * higher(dots, rim)

    disc(surface, x, y, radius, outline=outline, relief=relief, paint=paint)


def draw_leather(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a leather coral: a folded cap with the stars of its polyps out."""
    radius = 140 + 150 * growth
    shift = chance.uniform(0, 6)

    def outline(angle: Array) -> Array:
        return 0.86 + 0.08 * sine(3 * angle + shift) + 0.07 * sine(7 * angle + shift)

    def fold(away: Array, angle: Array) -> Array:
        return sine(7 * angle + shift + 2.2 * away) * share(away * 1.7 - 0.5)

    def relief(away: Array, angle: Array) -> Array:
        edge = rounded((1 - away) * 4)
        return TOP + (60 - 24 * away**2 + 36 * fold(away, angle)) * edge

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        deep = 0.42 - 0.5 * fold(away, angle)
        colour = mix(palette.body.colour, palette.shade.colour, deep)
        return mix(colour, (0.8, 0.75, 0.6), 0.25 + 0 * away), 0.22 + 0 * away

    disc(surface, MIDDLE, MIDDLE, radius, outline=outline, relief=relief, paint=paint)
    draw_stars(surface, palette=palette, chance=chance, radius=radius)


def draw_stars(surface: Surface, *, palette: Palette, chance: Random, radius: float) -> None:
    """Draw small eight-armed polyps over a cap."""
    for number in range(int(radius * 1.15)):
        turn, far = number * 2.39996, radius * 0.9 * (number / (radius * 1.15)) ** 0.5
        x = MIDDLE + cos(turn) * far + chance.uniform(-4, 4)
        y = MIDDLE + sin(turn) * far + chance.uniform(-4, 4)
        base = float(surface.height[min(899, int(y)), min(899, int(x))])
        if base > TOP + 8:
            draw_star(surface, (x, y, base), palette=palette, chance=chance)


def draw_star(surface: Surface, place: Point, *, palette: Palette, chance: Random) -> None:
    """Draw one polyp with eight arms (octocorals have eight)."""
    x, y, base = place
    shift, size = chance.uniform(0, 6), chance.uniform(10, 13)

    def outline(angle: Array) -> Array:
        return 0.55 + 0.45 * size_of(cosine(4 * angle + shift))

    def relief(away: Array, angle: Array) -> Array:
        return base + 9 - 4 * away

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        return mix(palette.tip.colour, palette.body.colour, away * 1.5 - 0.3), 0.70 - 0.2 * away

    disc(surface, x, y, size, outline=outline, relief=relief, paint=paint)


def draw_tree(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a soft tree: thick pale arms with bunches of polyps."""
    arms = round(6 + 8 * growth)
    for number in range(arms):
        turn = number * 2.39996 + chance.uniform(-0.2, 0.2)
        far = (80 + 235 * growth) * (0.25 + 0.75 * (number / arms) ** 0.7)
        end = (MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far, TOP + 120 - far * 0.22)
        points = bend((MIDDLE, MIDDLE, TOP + 30), end, bow=chance.uniform(-0.2, 0.2), steps=3)
        for step in range(3):
            low, high = 20 - 3.5 * step, 16.5 - 3.5 * step
            paints = (between(palette.shade, palette.pale, 0.3), palette.body)
            rod(surface, points[step], points[step + 1], thick=(low, high), paint=paints)
        for point in points[1:]:
            draw_bunch(surface, point, palette=palette, chance=chance)


def draw_bunch(surface: Surface, place: Point, *, palette: Palette, chance: Random) -> None:
    """Draw a bunch of polyps at the end of an arm."""
    x, y, z = place
    for _ in range(8):
        turn, far = chance.uniform(0, 2 * pi), chance.uniform(8, 36)
        where = (x + cos(turn) * far, y + sin(turn) * far, z + 16 - far * 0.25)
        dome(surface, where[0], where[1], 11, base=where[2] - 3, rise=9, paint=palette.body)
        draw_star(surface, (where[0], where[1], where[2] + 1), palette=palette, chance=chance)


def draw_fan(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a gorgonian: thin whips that fork, leaning to one side, furred with polyps."""
    lean = chance.uniform(0, 2 * pi)
    dome(surface, MIDDLE, MIDDLE, 46, base=TOP, rise=26, paint=palette.shade)
    whips = round(5 + 6 * growth)
    for number in range(whips):
        turn = lean + (number - (whips - 1) / 2) * 2.7 / whips + chance.uniform(-0.08, 0.08)
        far = (130 + 270 * growth) * chance.uniform(0.8, 1.0)
        start = (MIDDLE, MIDDLE, TOP + 22)
        end = (MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far, TOP + 90 + 40 * growth)
        points = bend(start, end, bow=chance.uniform(-0.14, 0.14), steps=6)
        for step in range(6):
            draw_whip(surface, points[step], points[step + 1], palette=palette, chance=chance)
            if step in (2, 3) and chance.random() < 0.8:
                x, y, z = points[step]
                side = turn + chance.choice((-0.55, 0.55))
                span = far * 0.38
                fork = (x + cos(side) * span, y + sin(side) * span, z + 34)
                draw_whip(surface, points[step], fork, palette=palette, chance=chance)


def draw_whip(
    surface: Surface, start: Point, end: Point, *, palette: Palette, chance: Random
) -> None:
    """Draw one piece of a whip with its polyps."""
    rod(surface, start, end, thick=(8.5, 7.5), paint=(palette.body, palette.body))
    span = max(abs(end[0] - start[0]), abs(end[1] - start[1]))
    for number in range(int(span / 8)):
        part = (number + chance.random()) / max(1, int(span / 8))
        x, y, z = (a + (b - a) * part for a, b in zip(start, end, strict=True))
        aside = chance.uniform(0, 2 * pi)
        where = (x + cos(aside) * 12, y + sin(aside) * 11, z + 3)
        draw_star(surface, where, palette=palette, chance=chance)


def draw_anemone(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw one anemone: many tentacles around a mouth."""
    dome(surface, MIDDLE, MIDDLE, 120, base=TOP, rise=46, paint=palette.shade)
    dome(surface, MIDDLE, MIDDLE, 34, base=TOP + 44, rise=12, paint=palette.second)
    count = round(70 + 60 * growth)
    for number in range(count):
        turn, near = number * 2.39996, 0.25 + 0.75 * (number / count) ** 0.5
        foot = 105 * near
        far = (130 + 165 * growth) * near + chance.uniform(-8, 26)
        start = (MIDDLE + cos(turn) * foot, MIDDLE + sin(turn) * foot, TOP + 50 - 12 * near)
        end = (MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far, TOP + 92 - 46 * near)
        draw_tentacle(surface, start, end, palette=palette, chance=chance)
