"""CPU and memory of photos against a floor in one run: ``python -m tests.bench.photo``.

Photos of 12 megapixels and some 2.8 MB, drawn beforehand: a frag at the measuring card with
its label, beside its label from near and from far, and a rack of 40. The floor of taking one
in unpacks the JPEG at half its size and writes the sizes that are kept, shrunk beforehand: no
reading, no metadata. Finding labels and outlines has no floor; its goals are for a machine
with two idle cores.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from tests.bench.measuring import Asked, compare, cpu, peak_mb, run
from tests.bench.table import Row

if TYPE_CHECKING:
    from tests.growth.scenes.scene import Scene, Shot

MODULE = "tests.bench.photo"
SIZE = (4032, 3024)
SIDE = 6
# As grainy as a phone's photos, which makes their files as large.
GRAIN, QUALITY = 0.04, 91
# Not more than so many times the floor; CPU in ms; MB.
INTAKE_GOAL, IDENTIFY_GOAL, OUTLINE_GOAL, PEAK_GOAL = 1.9, 300.0, 1500.0, 350.0
# Where the process whose memory is measured finds its photo.
PLACE = "PHOTO_TO_MEASURE"
CARD, NEAR = "at the card", "at the label, near"


@dataclass(frozen=True)
class Taken:
    """A photo as it comes in, and what the floor writes of it."""

    jpeg: bytes
    shrunk: tuple[Image.Image, ...]


def whole(scene: "Scene") -> "Shot":
    """Return the photo of a scene with the whole sensor, sharp and grainy."""
    from tests.growth.scenes.render import photograph
    from tests.growth.scenes.sensor import Look

    look = Look(blur_px=0.6, noise=GRAIN, quality=QUALITY)
    return photograph(replace(scene, camera=scene.camera.framed(*SIZE), look=look))


def photos() -> Iterator[tuple[str, "Shot"]]:
    """Yield each kind of photo with its name, the same ones every time."""
    from tests.growth.scenes import draws

    yield CARD, whole(draws.card_scene(12))
    yield NEAR, whole(draws.label_scene(6))
    yield "at the label, far", whole(draws.label_scene(12))
    yield "rack of 40", whole(draws.rack_scene(12))


def taken(shot: "Shot") -> Taken:
    """Return a photo as a phone sends it, and its kept sizes before they are written."""
    from fraginv.base.rules.pictures import SIZES

    upright = Image.fromarray(shot.rgb)
    shrunk = []
    for size in SIZES:
        small = upright.copy()
        small.thumbnail((size, size))
        shrunk.append(small)
    return Taken(shot.jpeg(focal_35_mm=26, side=SIDE), tuple(shrunk))


def floor(rows: list[Taken]) -> None:
    """Unpack at half the size, and write what is kept."""
    from fraginv.base.pictures import QUALITY

    for row in rows:
        picture = Image.open(BytesIO(row.jpeg))
        picture.draft("RGB", (SIZE[0] // 2, SIZE[1] // 2))
        picture.load()
        for small in row.shrunk:
            small.save(BytesIO(), "JPEG", quality=QUALITY)


def take_in(rows: list[Taken]) -> None:
    """Take photos in as the project does: sizes, metadata, labels."""
    from fraginv.base.pictures import prepare_picture
    from fraginv.growth.seeing.labels import labels_of_picture

    for row in rows:
        labels_of_picture(row.jpeg, prepare_picture(row.jpeg))


def identify(rows: list[bytes]) -> None:
    """Read the labels of photos at their full size."""
    from fraginv.base.pixels import upright_grey
    from fraginv.growth.seeing.labels import grey_of
    from fraginv.growth.seeing.reading import read_labels

    for data in rows:
        read_labels(grey_of(upright_grey(data)))


def outline(data: bytes) -> None:
    """Find the card in a photo and suggest the outline in its window."""
    from fraginv.base.pixels import upright_colour, upright_grey
    from fraginv.growth.rules.camera import focal_of
    from fraginv.growth.seeing.labels import grey_of
    from fraginv.growth.seeing.sights import view_of_card
    from fraginv.growth.seeing.suggesting import suggest_outline

    grey = grey_of(upright_grey(data))
    sight = view_of_card(grey, focal=focal_of(grey.shape[1], grey.shape[0], focal_35_mm=26))
    assert sight is not None
    assert sight.view is not None
    pixels = upright_colour(data)
    colour = np.frombuffer(pixels.data, np.uint8).reshape(pixels.height, pixels.width, 3)
    found = suggest_outline(colour, sight.view, tap_px=None, height_mm=12.0)
    assert len(found.outline_px)


def rows(asked: Asked) -> Iterator[Row]:
    """Measure taking in, reading, outlining, and what it takes of memory."""
    jpegs = {}
    for name, shot in photos():
        photo = taken(shot)
        jpegs[name] = photo.jpeg
        ours, least = compare([photo], (take_in, floor), rounds=asked.rounds)
        # What is small is read at full size too, for which the floor has no counterpart.
        goal = INTAKE_GOAL if name in (CARD, NEAR) else None
        yield Row("photo taken in", f"12 MP {name}", ours, least, goal)
    for name, data in jpegs.items():
        yield Row(
            "labels read, full size", f"12 MP {name}", median_cpu(asked, data), goal=IDENTIFY_GOAL
        )
    times = sorted(cpu(lambda found: outline(found[0]), [jpegs[CARD]]) for _ in range(5))
    yield Row("card found, outline", f"12 MP {CARD}", times[2], goal=OUTLINE_GOAL)
    with TemporaryDirectory() as folder:
        place = Path(folder) / "photo.jpg"
        place.write_bytes(jpegs[CARD])
        os.environ[PLACE] = str(place)
        most = peak_mb(MODULE, 1)
    yield Row("all of it, peak", f"12 MP {CARD}", most, goal=PEAK_GOAL, unit="MB")


def median_cpu(asked: Asked, data: bytes) -> float:
    """Return the CPU time of reading a photo, after a first time."""
    (time,) = compare([data], (identify,), rounds=asked.rounds)
    return time


def peak(count: int) -> None:
    """Take in, read and outline the photo that another process drew."""
    data = Path(os.environ[PLACE]).read_bytes()
    for _ in range(count):
        take_in([Taken(data, ())])
        identify([data])
        outline(data)


if __name__ == "__main__":
    run(MODULE, rows, rounds=7, peak=peak)
