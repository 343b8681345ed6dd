"""Reading and suggested outlines over many photos: ``python -m tests.growth.lab_reading``.

Prints two tables. Scenes are drawn by chance, each by its seed; those from ``UNSEEN`` on
were never looked at while anything was tuned. ``--photos`` says how many of each kind.
"""

import argparse
import statistics
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fraginv.growth.rules.camera import Scale, View, row_of
from fraginv.growth.rules.outlines import area_mm2, feret_mm
from fraginv.growth.seeing.reading import labels_in, read_labels
from fraginv.growth.seeing.suggesting import suggest_outline
from tests.bench.measuring import home_at, say
from tests.growth.scenes import draws
from tests.growth.scenes.camera import Array, Camera
from tests.growth.scenes.paint import Window, coverage
from tests.growth.scenes.render import photograph
from tests.growth.scenes.scene import Scene, Shot

UNSEEN = 10_000
CLEAN = 0.002
Draw = Callable[[int], Scene]


@dataclass(frozen=True)
class Tried:
    """What became of one label in a photo; ``at_once`` that one pass over the photo read it."""

    is_read: bool
    at_once: bool
    module_px: float
    fouled: float
    is_hidden: bool


@dataclass(frozen=True)
class Read:
    """What was read in photos of one kind: each label, how many wrong codes, each photo's ms."""

    labels: tuple[Tried, ...]
    wrong: int
    ms: tuple[float, ...]

    def share(self, which: Callable[[Tried], bool] = lambda tried: True) -> float:
        """Return which share of some labels was read, of those that nothing stands before."""
        tried = self.some(which)
        return sum(one.is_read for one in tried) / len(tried)

    def some(self, which: Callable[[Tried], bool]) -> list[Tried]:
        """Return some of the labels that nothing stands before."""
        return [one for one in self.labels if not one.is_hidden and which(one)]


def is_clean(tried: Tried) -> bool:
    """Tell whether a label has no algae and is large enough in its photo."""
    return tried.fouled < CLEAN and tried.module_px >= 2.5


def read_all(draw: Draw, seeds: Iterable[int]) -> Read:
    """Read the labels in photos of scenes."""
    labels: list[Tried] = []
    wrong, times = 0, []
    for seed in seeds:
        shot = photograph(draw(seed))
        grey = shot.grey
        start = time.perf_counter()
        found = {label.code for label in read_labels(grey)}
        times.append((time.perf_counter() - start) * 1000)
        labels += tried_in(shot, found=found)
        wrong += len(found - {label.code for label in shot.labels})
    return Read(tuple(labels), wrong, tuple(times))


def tried_in(shot: Shot, *, found: set[str]) -> Iterator[Tried]:
    """Yield what became of each label of a photo."""
    at_once = {label.code for label in labels_in(shot.grey)}
    for label in shot.labels:
        yield Tried(
            label.code in found,
            label.code in at_once,
            label.module_px,
            label.fouled,
            label.is_hidden,
        )


def reading_table(photos: int) -> Iterator[str]:
    """Yield the table of reading."""
    yield "| photos never tuned on | labels | at once | read | clean | fouled | wrong | ms |"
    yield "| --- |" + " ---: |" * 7
    kinds: Sequence[tuple[str, Draw, int]] = (
        ("at the card, mixed", draws.card_scene, photos),
        ("at the label, mixed, half of them bent", draws.label_scene, photos),
        ("whole racks of 40, 12 MP", draws.rack_scene, max(2, photos // 20)),
    )
    for name, draw, count in kinds:
        read = read_all(draw, range(UNSEEN, UNSEEN + count))
        seen = read.some(lambda tried: True)
        clean, fouled = read.some(is_clean), read.some(lambda tried: tried.fouled >= CLEAN)
        once = sum(one.at_once for one in seen) / len(seen)
        yield (
            f"| {name}: {count} | {len(seen)} | {once:.3f} | {read.share():.3f} "
            f"| {read.share(is_clean):.3f} of {len(clean)} "
            f"| {read.share(lambda tried: tried.fouled >= CLEAN):.3f} of {len(fouled)} "
            f"| {read.wrong} | {statistics.median(read.ms):.0f} |"
        )


@dataclass(frozen=True)
class Outlined:
    """How near a suggested outline came to the true one; errors as parts of the truth."""

    iou: float
    area_error: float
    feret_error: float
    ms: float
    doubts: tuple[str, ...]


def true_view(camera: Camera, *, scale: Scale = Scale.CARD) -> View:
    """Return what the best of all fits would know of a camera."""
    one, two, three = (row_of(row) for row in camera.rotation)
    return View(
        focal_px=camera.focal_px,
        centre=camera.centre,
        rotation=(one, two, three),
        translation=row_of(camera.translation),
        scale=scale,
        bend=camera.k1,
    )


def outlined(shot: Shot) -> Outlined:
    """Suggest the outline of a photo's only coral and hold it against the truth."""
    frag = shot.frag
    view = true_view(shot.camera)
    start = time.perf_counter()
    found = suggest_outline(shot.rgb, view, tap_px=frag.tap_px, height_mm=frag.height_mm)
    ms = (time.perf_counter() - start) * 1000
    doubts = tuple(doubt.code for doubt in found.doubts)
    if not len(found.outline_px):
        return Outlined(0.0, -1.0, -1.0, ms, doubts)
    outline = shot.camera.to_plane(found.outline_px, frag.height_mm)
    return Outlined(
        shared(outline, frag.outline_mm),
        area_mm2(outline) / frag.area_mm2 - 1,
        feret_mm(outline) / frag.diameter_mm - 1,
        ms,
        doubts,
    )


def shared(one: Array, other: Array, *, px_per_mm: float = 10.0) -> float:
    """Return which part of what either outline covers both cover."""
    low = np.minimum(one.min(0), other.min(0)) - 1
    width, height = np.ceil((np.maximum(one.max(0), other.max(0)) + 1 - low) * px_per_mm)
    window = Window(0, 0, int(width), int(height))
    first, second = (coverage((outline - low) * px_per_mm, window) for outline in (one, other))
    return float(np.minimum(first, second).sum() / np.maximum(first, second).sum())


def outline_table(photos: int) -> Iterator[str]:
    """Yield the table of suggested outlines, the true height and pose given."""
    yield (
        "| photos never tuned on | IoU median / mean / p10 | area, median | error median"
        " / p75 / p90 | within 5 % / 10 % | Feret median | IoU < .7 | ms |"
    )
    yield "| --- |" + " ---: |" * 7
    kinds: Sequence[tuple[str, Draw]] = (
        ("at the card", draws.card_scene),
        ("at the label", draws.label_scene),
    )
    for name, draw in kinds:
        seeds = range(UNSEEN, UNSEEN + photos)
        yield outline_row(name, [outlined(photograph(draw(seed))) for seed in seeds])


def outline_row(name: str, found: Sequence[Outlined]) -> str:
    """Write a row of the table of outlines."""
    iou = np.array([one.iou for one in found])
    area = np.array([one.area_error for one in found])
    size, feret = np.abs(area), np.abs([one.feret_error for one in found])
    worse = 100 * np.quantile(size, (0.5, 0.75, 0.9))
    return (
        f"| {name}: {len(found)} "
        f"| {np.median(iou):.3f} / {iou.mean():.3f} / {np.quantile(iou, 0.1):.3f} "
        f"| {100 * np.median(area):+.1f} % "
        f"| {worse[0]:.1f} / {worse[1]:.0f} / {worse[2]:.0f} % "
        f"| {(size < 0.05).mean():.2f} / {(size < 0.1).mean():.2f} "
        f"| {100 * np.median(feret):.1f} % | {(iou < 0.7).mean():.2f} "
        f"| {statistics.median(one.ms for one in found):.0f} |"
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.growth.lab_reading")
    parser.add_argument("--photos", type=int, default=200)
    photos = parser.parse_args().photos
    with home_at("sqlite"):
        for table in (reading_table, outline_table):
            for line in table(photos):
                say(line)


if __name__ == "__main__":
    main()
