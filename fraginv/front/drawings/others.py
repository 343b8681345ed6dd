"""What stands among the corals: clams, macroalgae, and crusts in plates."""

from math import cos, pi, sin
from random import Random

from fraginv.front.drawings.curves import cosine, higher, rounded, share, sine, size_of
from fraginv.front.drawings.ground import MIDDLE, TOP
from fraginv.front.drawings.palette import Palette
from fraginv.front.drawings.stony import between
from fraginv.front.drawings.surface import Array, Surface, bend, disc, mix, rod


def draw_clam(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a clam from above: shell edge, patterned mantle, and the slit between."""
    radius, shift = 170 + 130 * growth, chance.uniform(0, 6)
    lean = chance.uniform(0, pi)

    def outline(angle: Array) -> Array:
        long = 0.62 + 0.30 * cosine(angle - lean) ** 2
        return long + 0.045 * sine(11 * (angle - lean) + shift)

    def slit(away: Array, angle: Array) -> Array:
        return size_of(sine(angle - lean)) * away + 0.02 * sine(away * 14 + shift)

    def relief(away: Array, angle: Array) -> Array:
        lips = 46 * share(slit(away, angle) * 9) * rounded((1 - away) * 5)
        return TOP + 14 + lips + 7 * sine(11 * (angle - lean) + shift) * away**3

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        rays = sine(away * 24 + 2.4 * sine(9 * angle + shift))
        spots = share(rays * cosine(31 * angle + 3 * away) * 2)
        colour = mix(palette.body.colour, palette.shade.colour, 0.5 + 0.5 * rays)
        colour = mix(colour, palette.second.colour, spots)
        rim = share((away - 0.86) * 10)
        colour = mix(colour, palette.tip.colour, rim)
        deep = share(1 - slit(away, angle) * 14)
        return mix(colour, (0.02, 0.03, 0.06), deep), (0.35 + 0.5 * spots) * (1 - deep)

    disc(surface, MIDDLE, MIDDLE, radius, outline=outline, relief=relief, paint=paint)


def draw_fronds(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw a macroalga: flat fronds that fork twice."""
    for number in range(round(16 + 26 * growth)):
        turn, far = number * 2.39996, (80 + 230 * growth) * chance.uniform(0.55, 1.0)
        start = (MIDDLE + cos(turn) * 20, MIDDLE + sin(turn) * 20, TOP + 8)
        end = (MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far, TOP + 100 - far * 0.2)
        points = bend(start, end, bow=chance.uniform(-0.3, 0.3), steps=4)
        for step in range(4):
            radii = (9 + step, 10 + step)
            paints = (
                between(palette.shade, palette.body, step / 4),
                between(palette.shade, palette.body, step / 4 + 0.25),
            )
            rod(surface, points[step], points[step + 1], thick=radii, paint=paints)
        for side in (-0.6, 0.6):
            x, y, z = points[3]
            tip = (x + cos(turn + side) * 52, y + sin(turn + side) * 52, z + 14)
            rod(surface, (x, y, z), tip, thick=(11, 7), paint=(palette.body, palette.pale))


def draw_plates(surface: Surface, *, palette: Palette, chance: Random, growth: float) -> None:
    """Draw plates one above the other, pored and pale at the edge."""
    for number in range(round(3 + 3 * growth)):
        turn, far = number * 2.39996, 26.0 * number
        draw_plate(
            surface,
            (MIDDLE + cos(turn) * far, MIDDLE + sin(turn) * far, TOP + 8 + 19 * number),
            radius=(150 + 120 * growth) * (1 - 0.11 * number),
            palette=palette,
            chance=chance,
        )


def draw_plate(
    surface: Surface,
    place: tuple[float, float, float],
    *,
    radius: float,
    palette: Palette,
    chance: Random,
) -> None:
    """Draw one plate."""
    x, y, base = place
    shift = chance.uniform(0, 6)

    def outline(angle: Array) -> Array:
        return 0.86 + 0.08 * sine(4 * angle + shift) + 0.05 * sine(9 * angle + 2 * shift)

    def pores(away: Array, angle: Array) -> Array:
        rings = sine(away * radius * 0.32)
        return share(rings * sine(angle * 46 + 9 * sine(away * 9)))

    def relief(away: Array, angle: Array) -> Array:
        edge = rounded((1 - away) * 9)
        return base + (8 + 8 * away**2 + 3.5 * pores(away, angle)) * edge

    def paint(away: Array, angle: Array) -> tuple[Array, Array]:
        colour = mix(palette.shade.colour, palette.body.colour, 0.35 + 0.6 * away)
        dots = pores(away, angle)
        colour = mix(colour, palette.second.colour, dots)
        rim = share((away - 0.9) * 14)
        return mix(colour, palette.pale.colour, rim), 0.3 + 0.45 * higher(dots, rim)

    disc(surface, x, y, radius, outline=outline, relief=relief, paint=paint)
