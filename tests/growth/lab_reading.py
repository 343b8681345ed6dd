"""Reading and suggested outlines over many photos: ``python -m tests.growth.lab_reading``.

Prints two tables. Scenes are drawn by chance, each by its seed; those from ``UNSEEN`` on
were never looked at while anything was tuned. ``--photos`` says how many of each kind.
"""

import argparse
import statistics
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from fraginv.growth.seeing.reading import labels_in, read_labels
from tests.bench.measuring import home_at, say
from tests.growth.scenes import draws
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


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.growth.lab_reading")
    parser.add_argument("--photos", type=int, default=200)
    photos = parser.parse_args().photos
    with home_at("sqlite"):
        for line in reading_table(photos):
            say(line)


if __name__ == "__main__":
    main()
