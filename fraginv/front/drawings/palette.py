"""Colours of corals under blue light."""

from colorsys import hsv_to_rgb
from dataclasses import dataclass
from random import Random

from fraginv.front.drawings.surface import Colour, Paint


def colour(hue: float, strength: float = 0.9, light: float = 1.0) -> Colour:
    """Return a colour by its hue in degrees; strength and light run from 0 to 1."""
    return hsv_to_rgb(hue % 360 / 360, strength, light)


@dataclass(frozen=True)
class Palette:
    """A variety's colours: its body, its second colour, its tips or mouths, and its shade."""

    body: Paint
    second: Paint
    tip: Paint
    shade: Paint
    pale: Paint


def palette_of(hue: float) -> Palette:
    """Return the colours of a variety; the same hue gives the same ones."""
    chance = Random(round(hue * 10))  # noqa: S311 repeatable on purpose
    second = hue + chance.choice((60, 110, 150, 180, 215, 290))
    tip = second + chance.choice((-40, 35, 60, 160))
    return Palette(
        body=Paint(colour(hue, 0.88, 0.95), 0.55),
        second=Paint(colour(second, 0.9, 1.0), 0.75),
        tip=Paint(colour(tip, 0.75, 1.0), 0.95),
        shade=Paint(colour(hue + 12, 0.85, 0.42), 0.28),
        pale=Paint(colour(hue - 10, 0.35, 1.0), 0.8),
    )
