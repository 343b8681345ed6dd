"""Outlines of known size: discs, squares, ellipses, and such as corals have."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull

from tests.growth.scenes.camera import Array

POINTS = 720


@dataclass(frozen=True)
class Shape:
    """Hold a closed outline in mm around 0, 0, with its exact size as a polygon."""

    name: str
    outline: Array

    @property
    def area_mm2(self) -> float:
        """Return the area. Source: the shoelace formula."""
        x, y = self.outline.T
        return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)

    @property
    def diameter_mm(self) -> float:
        """Return the largest distance between two of its points."""
        far = self.outline[ConvexHull(self.outline).vertices]
        square = (far**2).sum(1)
        apart = square[:, None] + square[None, :] - 2 * far @ far.T
        return float(np.sqrt(apart.max()))

    def at(self, x_mm: float, y_mm: float, *, turn_deg: float = 0.0) -> Array:
        """Return the outline turned and moved."""
        cos, sin = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
        return np.asarray(self.outline @ np.array([[cos, sin], [-sin, cos]]) + (x_mm, y_mm))


def angles(count: int = POINTS) -> Array:
    """Return angles all round."""
    return np.linspace(0, 2 * np.pi, count, endpoint=False)


def from_radii(name: str, radii: Array) -> Shape:
    """Return a shape that is star-like around 0, 0."""
    turn = angles(len(radii))
    return Shape(name, np.column_stack([radii * np.cos(turn), radii * np.sin(turn)]))


def disc(diameter_mm: float) -> Shape:
    """Return a disc."""
    return from_radii("disc", np.full(POINTS, diameter_mm / 2))


def ellipse(long_mm: float, short_mm: float) -> Shape:
    """Return an ellipse by its two diameters."""
    turn = angles()
    points = np.column_stack([long_mm / 2 * np.cos(turn), short_mm / 2 * np.sin(turn)])
    return Shape("ellipse", points)


def square(side_mm: float) -> Shape:
    """Return a square, with points along its sides."""
    along = np.linspace(-0.5, 0.5, POINTS // 4, endpoint=False)
    edge = np.column_stack([along, np.full_like(along, -0.5)])
    turns = [edge]
    for _ in range(3):
        turns.append(turns[-1] @ np.array([[0, 1], [-1, 0]]))
    return Shape("square", np.vstack(turns) * side_mm)


def lumpy(chance: np.random.Generator, *, diameter_mm: float, roughness: float = 0.12) -> Shape:
    """Return an irregular rounded outline, such as an encrusting or massive coral's."""
    turn = angles()
    radii = np.ones(POINTS)
    for wave in range(2, 9):
        size = roughness * chance.normal() * (2 / wave) ** 0.8
        radii += size * np.cos(wave * turn + chance.uniform(0, 2 * np.pi))
    return scaled(from_radii("lumpy", radii.clip(0.35)), diameter_mm)


def branching(chance: np.random.Generator, *, diameter_mm: float, arms: int = 6) -> Shape:
    """Return an outline with blunt arms of unlike lengths, as a branching coral has."""
    turn = angles(2 * POINTS)
    radii = np.full(len(turn), 0.45)
    starts = (np.arange(arms) + chance.uniform(-0.25, 0.25, arms)) * 2 * np.pi / arms
    for start in starts:
        away = np.angle(np.exp(1j * (turn - start)))
        width = chance.uniform(0.16, 0.28)
        length = chance.uniform(0.25, 0.6)
        radii = np.maximum(radii, 0.45 + length * np.exp(-((away / width) ** 4)))
    smooth = np.convolve(np.tile(radii, 3), np.hanning(41) / np.hanning(41).sum(), "same")
    return scaled(from_radii("branching", smooth[len(turn) : 2 * len(turn)]), diameter_mm)


def scaled(shape: Shape, diameter_mm: float) -> Shape:
    """Return a shape brought to a largest diameter, its centre of area at 0, 0."""
    outline = shape.outline * (diameter_mm / shape.diameter_mm)
    return Shape(shape.name, outline - centroid(outline))


def centroid(outline: Array) -> Array:
    """Return the centre of area. Source: the polygon's first moments."""
    x, y = outline.T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    sums = [((each + np.roll(each, -1)) * cross).sum() for each in (x, y)]
    return np.asarray(np.array(sums) / (3 * cross.sum()))


def some_coral(chance: np.random.Generator, *, diameter_mm: float) -> Shape:
    """Return one of the outlines that corals have."""
    kind = chance.choice(["lumpy", "lumpy", "branching", "ellipse", "disc"])
    if kind == "branching":
        return branching(chance, diameter_mm=diameter_mm, arms=int(chance.integers(4, 9)))
    if kind == "ellipse":
        return ellipse(diameter_mm, diameter_mm * chance.uniform(0.6, 0.9))
    if kind == "disc":
        return disc(diameter_mm)
    return lumpy(chance, diameter_mm=diameter_mm, roughness=chance.uniform(0.05, 0.16))
