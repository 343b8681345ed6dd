"""Measure the measuring: ``python -m tests.growth.lab`` prints how true sizes come out.

Photographs are made with exact truth (``scenes``), measured with the true outline and
height, and compared. So what is seen here is the error of scale, perspective and lens, and
nothing of the outline's. Rows *tuned* are those that the fit was made with; all others were
never looked at before it was done. ``--photos N`` takes fewer of each.
"""

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from time import perf_counter
from typing import Final

import numpy as np

from fraginv.base.symbols import Reading, read_symbols
from fraginv.growth.rules.camera import (
    FILM_DIAGONAL_MM,
    SIGMA_SUPPOSED,
    SIGMA_TOLD,
    Focal,
    View,
)
from fraginv.growth.rules.measuring import Height, Measured, measure_outline
from fraginv.growth.rules.outlines import EdgeError
from fraginv.growth.seeing.sights import view_of_card, view_of_label
from tests.growth.scenes.draws import (
    FOCAL_35_MM,
    SENSORS,
    card_scene,
    label_scene,
    standard_scene,
)
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Bend, Scene, Shot

# Seeds of photographs that the fit was made with, and of those that were never looked at.
TUNED: Final = range(60)
KEPT: Final = range(1000, 1240)
# The outline is the true one here.
EXACT: Final = EdgeError(0, 1, 0)


@dataclass(frozen=True)
class Size:
    """One size as it was measured and as it is, in mm² and mm, with what was said of it."""

    area: float
    true_area: float
    diameter: float
    true_diameter: float
    sigma_area: float
    seconds: float

    @property
    def area_error(self) -> float:
        """Return the relative error of the area."""
        return self.area / self.true_area - 1

    @property
    def diameter_error(self) -> float:
        """Return the relative error of the diameter."""
        return self.diameter / self.true_diameter - 1


@dataclass(frozen=True)
class Errors:
    """How sizes compare with the truth; in percent but for ``r2`` and ``said``.

    ``said`` is the root mean square of errors over their own standard deviations, 1 where
    those are honest, below 1 where they leave room for what is not in the photographs.
    """

    n: int
    bias: float
    cv: float
    p95: float
    worst: float
    r2: float
    diameter_bias: float
    diameter_cv: float
    said: float
    ms: float


def errors_of(sizes: list[Size]) -> Errors:
    """Return the statistics of sizes. CV is the standard deviation of measured over true."""
    area = np.array([size.area_error for size in sizes]) * 100
    diameter = np.array([size.diameter_error for size in sizes]) * 100
    true = np.array([size.true_area for size in sizes])
    rest = np.array([size.area for size in sizes]) - true
    said = rest / np.array([size.sigma_area for size in sizes])
    return Errors(
        n=len(sizes),
        bias=float(area.mean()),
        cv=float(area.std(ddof=1)),
        p95=float(np.quantile(np.abs(area), 0.95)),
        worst=float(np.abs(area).max()),
        r2=1 - float((rest**2).sum() / ((true - true.mean()) ** 2).sum()),
        diameter_bias=float(diameter.mean()),
        diameter_cv=float(diameter.std(ddof=1)),
        said=float(np.sqrt((said**2).mean())),
        ms=float(np.median([size.seconds for size in sizes])) * 1000,
    )


def focal_said(shot: Shot) -> Focal:
    """Return the focal length as Exif has it: in whole millimetres, over the whole sensor."""
    lengths = [FOCAL_35_MM * np.hypot(*size) / FILM_DIAGONAL_MM for size in SENSORS]
    nearest = min(lengths, key=lambda length: abs(length - shot.camera.focal_px))
    return Focal(float(nearest), SIGMA_TOLD)


def focal_supposed(shot: Shot, *, chance: np.random.Generator) -> Focal:
    """Return what is supposed where the photograph does not say: wrong by 6 %, and known so."""
    return Focal(shot.camera.focal_px * float(np.exp(chance.normal(0, 0.06))), SIGMA_SUPPOSED)


def reading_of(shot: Shot) -> Reading | None:
    """Return the label as one call of the reader finds it, None where that does not."""
    grey = shot.grey
    height, width = grey.shape
    found = read_symbols(grey.tobytes(), width=width, height=height)
    return next((one for one in found if one.text == shot.label.text), None)


def by_card(shot: Shot, focal: Focal) -> View | None:
    """Return the view that the card gives."""
    sight = view_of_card(shot.grey, focal=focal)
    return None if sight is None else sight.view


def by_label(shot: Shot, focal: Focal) -> View | None:
    """Return the view that the label gives; None where algae keeps it from being read."""
    reading = reading_of(shot)
    if reading is None:
        return None
    symbol_mm = shot.label.symbol_mm
    return view_of_label(shot.grey, label=reading, symbol_mm=symbol_mm, focal=focal).view


def curled_card_scene(seed: int, *, curl_mm: float) -> Scene:
    """Return a card whose left and right ends stand above its middle, which nobody is told."""
    scene = card_scene(seed)
    first, *others = scene.sheets
    return replace(scene, sheets=(replace(first, bend=Bend(curl_mm=curl_mm)), *others))


Way = Callable[[Shot, Focal], View | None]
Change = Callable[[Shot, np.random.Generator], tuple[Focal, Height]]


def as_said(shot: Shot, chance: np.random.Generator) -> tuple[Focal, Height]:
    """Return lens and height as a careful grower has them."""
    return focal_said(shot), Height(shot.frag.height_mm, 0.0)


def without_lens(shot: Shot, chance: np.random.Generator) -> tuple[Focal, Height]:
    """Return a lens that is supposed."""
    return focal_supposed(shot, chance=chance), Height(shot.frag.height_mm, 0.0)


def without_height(shot: Shot, chance: np.random.Generator) -> tuple[Focal, Height]:
    """Return no height."""
    return focal_said(shot), Height(None)


def height_wrong(shot: Shot, chance: np.random.Generator, *, by_mm: float) -> tuple[Focal, Height]:
    """Return a height that is wrong."""
    wrong = max(0.0, shot.frag.height_mm + chance.normal(0, by_mm))
    return focal_said(shot), Height(wrong, by_mm)


def sized(shot: Shot, way: Way, *, focal: Focal, height: Height) -> Size | None:
    """Measure the only frag of a photograph by its true outline."""
    start = perf_counter()
    view = way(shot, focal)
    seconds = perf_counter() - start
    if view is None:
        return None
    frag = shot.frag
    found = measure_outline(view, outline_px=frag.outline_px, height=height, error=EXACT)
    assert isinstance(found, Measured), found
    return Size(
        area=found.area_mm2,
        true_area=frag.area_mm2,
        diameter=found.diameter_mm,
        true_diameter=frag.diameter_mm,
        sigma_area=found.sigma_area_mm2,
        seconds=seconds,
    )


def shots(draw: Callable[[int], Scene], seeds: Iterable[int]) -> Iterator[Shot]:
    """Photograph one scene after the other."""
    return (photograph(draw(seed)) for seed in seeds)


@dataclass(frozen=True)
class Row:
    """One line of the table: which photographs, measured by what, with what changed."""

    name: str
    draw: Callable[[int], Scene]
    way: Way
    change: Change = as_said
    seeds: Sequence[int] = KEPT


ROWS: Final = (
    Row("card", card_scene, by_card),
    Row("card, lens not known", card_scene, by_card, without_lens),
    Row("card, height wrong by sd 1 mm", card_scene, by_card, partial(height_wrong, by_mm=1.0)),
    Row("card, no height", card_scene, by_card, without_height),
    Row("card, curled by 1 mm", partial(curled_card_scene, curl_mm=1.0), by_card),
    Row("card, curled by 4 mm", partial(curled_card_scene, curl_mm=4.0), by_card),
    Row("label on the card", card_scene, by_label),
    Row("label alone, half of them bent", label_scene, by_label),
    Row("label alone, lens not known", label_scene, by_label, without_lens),
    Row("label alone, no height", label_scene, by_label, without_height),
    Row("standards, card", standard_scene, by_card),
    Row("standards, label", standard_scene, by_label),
    Row("card, tuned", card_scene, by_card, seeds=TUNED),
    Row("label alone, tuned", label_scene, by_label, seeds=TUNED),
    Row("standards, card, tuned", standard_scene, by_card, seeds=TUNED),
)

HEAD: Final = (
    "| measured by | n | area bias % | CV % | p95 % | worst % | 1 − R² "
    "| diameter bias % | CV % | error ÷ said | ms |"
)


def line_of(name: str, found: Errors) -> str:
    """Return a line of the table, in Markdown."""
    return (
        f"| {name} | {found.n} | {found.bias:+.3f} | {found.cv:.3f} | {found.p95:.2f}"
        f" | {found.worst:.2f} | {1 - found.r2:.1e} | {found.diameter_bias:+.3f}"
        f" | {found.diameter_cv:.3f} | {found.said:.2f} | {found.ms:.0f} |"
    )


def say(line: str) -> None:
    """Write one line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def measured_rows(rows: Iterable[Row]) -> dict[str, list[Size]]:
    """Measure rows that share their photographs, each of which is made once."""
    found: dict[str, list[Size]] = {row.name: [] for row in rows}
    (draw, seeds), *others = {(row.draw, row.seeds) for row in rows}
    assert not others
    for seed, shot in zip(seeds, shots(draw, seeds), strict=True):
        for number, row in enumerate(rows):
            focal, height = row.change(shot, np.random.default_rng((seed, number)))
            if (size := sized(shot, row.way, focal=focal, height=height)) is not None:
                found[row.name].append(size)
    return found


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Measure sizes of known truth.")
    parser.add_argument("--photos", type=int, default=240, help="of each kind, at most")
    most = parser.parse_args().photos
    rows = [replace(row, seeds=row.seeds[:most]) for row in ROWS]
    say(HEAD)
    say("| --- |" + " ---: |" * 10)
    groups = dict.fromkeys((row.draw, row.seeds) for row in rows)
    for draw, seeds in groups:
        same = [row for row in rows if (row.draw, row.seeds) == (draw, seeds)]
        for name, sizes in measured_rows(same).items():
            say(line_of(name, errors_of(sizes)))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
    import django

    django.setup()
    main()
