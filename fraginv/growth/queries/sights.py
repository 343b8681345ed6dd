"""What a filed photo tells of its scale, read from the stored original and kept for a while."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from django.core.cache import cache

from fraginv.base.errors import NotFound
from fraginv.base.models import StoredFile
from fraginv.base.pixels import upright_colour, upright_grey
from fraginv.base.queries.codes import symbol_sizes
from fraginv.base.queries.files import read_original
from fraginv.base.rules.card import WINDOW
from fraginv.base.rules.optics import Optics
from fraginv.growth.models import Photo
from fraginv.growth.queries.intake import named_by
from fraginv.growth.rules.camera import Focal, Scale, View, focal_of
from fraginv.growth.rules.drawn import VERSION, Pairs, pairs_of
from fraginv.growth.rules.others import other_label, others_named
from fraginv.growth.rules.printed import Side, side_of
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.measuring import scale_of
from fraginv.growth.seeing.patches import Colour
from fraginv.growth.seeing.reading import Label, read_labels
from fraginv.stock.models import Frag

# Reading a photo takes some tenths of a second, and it always tells the same.
KEPT_SECONDS: Final = 60 * 60
# Around a label the frag stands within so many of the symbol's sides.
AROUND: Final = 4.5


@dataclass(frozen=True)
class Subject:
    """A frag's photo with the upright picture that the camera took of it.

    What the photo shows begins at ``left`` and ``top`` of that picture, in pixels.
    """

    photo: Photo
    frag: Frag

    @property
    def file(self) -> StoredFile:
        """Return the file that the camera took."""
        return (self.photo.part_of or self.photo).file

    @property
    def left(self) -> int:
        """Return where what the photo shows begins, in pixels from the left."""
        return self.photo.left or 0

    @property
    def top(self) -> int:
        """Return where what the photo shows begins, in pixels from the top."""
        return self.photo.top or 0

    @property
    def medium(self) -> str:
        """Return what the frag stands on now."""
        return self.frag.new_medium or self.frag.medium

    @property
    def size(self) -> tuple[int, int]:
        """Return width and height of the picture that the camera took, in pixels."""
        return self.file.width or 0, self.file.height or 0

    @property
    def focal(self) -> Focal:
        """Return the focal length with which it was taken, or is supposed to be."""
        width, height = self.size
        return focal_of(
            width,
            height,
            focal_35_mm=self.file.focal_35_mm,
            optics=self.file.optics or Optics.NONE,
        )


@dataclass(frozen=True)
class Seen:
    """What a photo tells of its scale.

    ``view`` is None where it tells none; ``around_px`` are points around which the frag
    stands, empty where nobody knows; ``labels_px`` the corners of each symbol that was read.
    """

    view: View | None
    problems: tuple[Problem, ...]
    around_px: Pairs = ()
    labels_px: tuple[Pairs, ...] = ()


def subject_of(photo_id: int, *, mark: str) -> Subject:
    """Return a frag's photo by its address.

    Raises: NotFound where there is none, or it shows no frag.
    Queries: 1.
    """
    photo = (
        Photo.objects.select_related("file", "part_of__file", "frag__variety", "frag__code")
        .filter(pk=photo_id)
        .first()
    )
    if photo is None or photo.mark != mark:
        raise NotFound("There is no such picture. Open the page again that led here.")
    if photo.frag is None:
        raise NotFound(
            "This picture shows no single frag, so there is nothing to measure in it. Photograph"
            " the frag by itself, its label beside it."
        )
    return Subject(photo, photo.frag)


def seen_in(subject: Subject) -> Seen:
    """Return what a photo tells of its scale; it is read once and kept for an hour.

    Raises: NotFound where the stored original is missing.
    Queries: 2 where it was not read lately, and 2 or 3 where another label was.
    """
    code = subject.frag.code
    printed = code.printed_at.timestamp() if code.printed_at else 0
    part = subject.photo.part_of_id or 0
    key = f"sight-{VERSION}-{subject.file.sha256}-{code.pk}-{printed}-{part}"
    found: Seen | None = cache.get(key)
    if found is None:
        found = read_sight(subject)
        cache.set(key, found, KEPT_SECONDS)
    return found


def read_sight(subject: Subject) -> Seen:
    """Read the labels and the card in a photo, and find where the camera stood."""
    pixels = upright_grey(read_original(subject.file))
    grey = np.frombuffer(pixels.data, np.uint8).reshape(pixels.height, pixels.width)
    code, labels = subject.frag.code_id, read_labels(grey)
    label = own_label(labels, code=code)
    side = side_of(symbol_sizes([code])[code], version=label.version) if label else Side()
    sight = scale_of(
        grey,
        focal=subject.focal,
        label=label,
        symbol_mm=side.mm,
        optics=subject.file.optics or Optics.NONE,
    )
    by_label = sight.view is not None and sight.view.scale == Scale.LABEL
    said = (*sight.problems, *side.problems) if by_label else sight.problems
    strange = () if label else other_labels(subject, labels)
    found = tuple(pairs_of(one.corners, digits=1) for one in labels)
    return Seen(sight.view, (*strange, *said), around(sight.view, label), found)


def other_labels(subject: Subject, labels: list[Label]) -> tuple[Problem, ...]:
    """Return what is to be checked where a photo shows other labels and not the frag's own.

    A part of a photo of many lies among others' labels; its own was read when it was cut out.
    Queries: as ``named_by``.
    """
    codes = {label.code for label in labels}
    if subject.photo.part_of_id is not None or not codes:
        return ()
    others = others_named(sorted(codes), known=named_by(codes), kind="frag", pk=subject.frag.pk)
    return (other_label(others, code=subject.frag.code_id),) if others else ()


def colour_of(subject: Subject) -> Colour:
    """Return the pixels of the upright picture that the camera took, h × w × 3 in RGB.

    Raises: NotFound where the stored original is missing.
    """
    pixels = upright_colour(read_original(subject.file))
    return np.frombuffer(pixels.data, np.uint8).reshape(pixels.height, pixels.width, 3)


def own_label(labels: list[Label], *, code: str) -> Label | None:
    """Return the frag's own label, or None where it was not read."""
    return next((label for label in labels if label.code == code), None)


def around(view: View | None, label: Label | None) -> Pairs:
    """Return points around which the frag stands: the card's window, else beside the label."""
    if view is not None and view.scale == Scale.CARD:
        return pairs_of(view.to_pixels(WINDOW.corners), digits=1)
    if label is None:
        return ()
    middle = label.corners.mean(axis=0)
    return pairs_of(middle + AROUND * (label.corners - middle) * 2**0.5, digits=1)
