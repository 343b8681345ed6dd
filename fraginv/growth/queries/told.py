"""Reading and measuring photos that are not filed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fraginv.base.pictures import PictureFacts, Pixels, inspect_picture
from fraginv.base.pixels import upright_colour, upright_grey
from fraginv.base.queries.codes import SymbolSize, symbol_sizes
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Scale, View, focal_of
from fraginv.growth.rules.heights import height_from, usual_height
from fraginv.growth.rules.measuring import Height, Measured, measure_outline
from fraginv.growth.rules.outlines import REVIEWED, SUGGESTED
from fraginv.growth.rules.printed import Side, side_of
from fraginv.growth.rules.problems import Problem
from fraginv.growth.rules.told import (
    GIVEN,
    NO_LABEL,
    NOT_FOUND,
    SEVERAL,
    Asked,
    FragTold,
    Outline,
    PhotoTold,
    twice,
    unknown,
)
from fraginv.growth.rules.told import SUGGESTED as BY_US
from fraginv.growth.seeing.finding import place_of_frag
from fraginv.growth.seeing.measuring import scale_of
from fraginv.growth.seeing.reading import Label, read_labels
from fraginv.growth.seeing.sights import Sight
from fraginv.growth.seeing.suggesting import glare_within, suggest_outline
from fraginv.stock.models import Frag

Grey = NDArray[np.uint8]
# Where no label says what a frag stands on.
ANY_SYMBOL_MM: Final = 15.0
# What nobody has looked at is no size where this is doubtful.
NO_SIZE: Final = {problems.OUTLINE_AT_EDGE, problems.OUTLINE_IS_PLUG}


@dataclass(frozen=True, slots=True)
class Known:
    """What is known here of a code: the sizes it was printed at, and its frag's medium."""

    sizes: tuple[SymbolSize, ...] = ()
    medium: str = ""


def known_codes(codes: list[str]) -> dict[str, Known]:
    """Return what is known here of codes; those that are none of ours are left out.

    Queries: 2.
    """
    mediums = {
        code: new or old
        for code, new, old in Frag.objects.filter(code__in=codes).values_list(
            "code_id", "new_medium", "medium"
        )
    }
    return {
        code: Known(sizes, mediums.get(code, "")) for code, sizes in symbol_sizes(codes).items()
    }


@dataclass(frozen=True, slots=True)
class Opened:
    """A photo with what it says of itself, its grey pixels, and the labels in it."""

    data: bytes
    facts: PictureFacts
    grey: Grey
    labels: list[Label]

    @property
    def colour(self) -> NDArray[np.uint8]:
        """Return its pixels, h × w × 3 in RGB."""
        return array_of(upright_colour(self.data))


def opened(data: bytes, *, zone: str) -> Opened:
    """Open a photo and read the labels in it.

    Raises: InputError for what is no picture, damaged, or too large.
    """
    facts = inspect_picture(data, zone=zone)
    grey = array_of(upright_grey(data))
    return Opened(data, facts, grey, read_labels(grey))


def array_of(pixels: Pixels) -> Grey:
    """Return pixels h × w, or h × w × 3 for colour."""
    flat = np.frombuffer(pixels.data, np.uint8)
    shape = (pixels.height, pixels.width, pixels.channels)
    return flat.reshape(shape[:2] if pixels.channels == 1 else shape)


def told_of(photo: Opened, *, name: str, asked: Asked, known: Mapping[str, Known]) -> PhotoTold:
    """Tell what a photo shows: its codes, and the size of the frag where it can be measured.

    Of several frags the one whose label is nearest to a given outline is measured.
    """
    outline = asked.outlines.get(name)
    labels = photo.labels
    said = list(doubts_of(labels, known=known))
    frags: list[FragTold] = []
    if len(labels) <= 1 or outline:
        label = nearest(labels, outline)
        found, more = frag_of(photo, label, asked=asked, known=known, outline=outline)
        frags, said = [found] if found else [], [*said, *more]
    return PhotoTold(
        file=name,
        taken=photo.facts.taken_at,
        codes=[label.code for label in labels],
        frags=frags,
        problems=tuple(dict.fromkeys(said)),
    )


def doubts_of(labels: list[Label], *, known: Mapping[str, Known]) -> list[Problem]:
    """Return what is to be said of the codes in a photo."""
    if not labels:
        return [NO_LABEL]
    said = [unknown(label.code) for label in labels if label.code not in known]
    said += [twice(label.code) for label in labels if label.times > 1]
    return [*said, SEVERAL] if len(labels) > 1 else said


def nearest(labels: list[Label], outline: Outline | None) -> Label | None:
    """Return the label that lies nearest to an outline; the first where there is none."""
    if not labels or not outline:
        return labels[0] if labels else None
    middle = np.mean(outline, axis=0)
    return min(labels, key=lambda label: float(np.hypot(*(label.corners.mean(axis=0) - middle))))


def frag_of(
    photo: Opened,
    label: Label | None,
    *,
    asked: Asked,
    known: Mapping[str, Known],
    outline: Outline | None,
) -> tuple[FragTold | None, list[Problem]]:
    """Measure the frag of a label, or what stands in the card's window where there is none."""
    own = known.get(label.code, Known()) if label else Known()
    side = side_of(own.sizes, version=label.version) if label else Side()
    symbol_mm = asked.symbol_mm or side.mm
    sight = sight_of(photo, label, symbol_mm=symbol_mm)
    view, said = sight.view, list(sight.problems)
    if view is None:
        return None, said
    if view.scale == Scale.LABEL and asked.symbol_mm is None:
        said += side.problems
    height = height_for(own.medium, view=view, asked=asked)
    suggestion = suggested(photo, view, height=height, symbol_mm=symbol_mm) if not outline else None
    drawn, doubts = suggestion or (outline or (), [])
    found = measured(photo, view, drawn, height=height, given=bool(outline))
    if not outline and is_unsure(found, doubts):
        return None, [*said, NOT_FOUND]
    if isinstance(found, Problem):
        return None, [*said, found]
    said += doubts
    if outline:
        said += glare_within(photo.colour, view, outline_px=outline, height_mm=height.seen_mm)
    told = FragTold(
        code=label.code if label else "",
        area_mm2=found.area_mm2,
        diameter_mm=found.diameter_mm,
        sigma_area_mm2=found.sigma_area_mm2,
        scale=view.scale.value,
        height_mm=height.mm,
        outline=drawn,
        outline_by=GIVEN if outline else BY_US,
    )
    return told, [*said, *found.problems]


def is_unsure(found: Measured | Problem, doubts: list[Problem]) -> bool:
    """Tell whether a suggested outline, at which nobody has looked, is no size to be told."""
    return isinstance(found, Problem) or not NO_SIZE.isdisjoint((*doubts, *found.problems))


def height_for(medium: str, *, view: View, asked: Asked) -> Height:
    """Return the height that was asked for, else what is usual on a medium, if that is known."""
    if asked.height_mm is not None or not medium:
        return Height(asked.height_mm)
    usual = usual_height(medium, scale=view.scale)
    return height_from(usual, medium=medium, scale=view.scale)


def sight_of(photo: Opened, label: Label | None, *, symbol_mm: float | None) -> Sight:
    """Return where the camera stood, by the card or the label."""
    height, width = photo.grey.shape
    optics = photo.facts.optics
    focal = focal_of(width, height, focal_35_mm=photo.facts.focal_35_mm, optics=optics)
    return scale_of(photo.grey, focal=focal, label=label, symbol_mm=symbol_mm, optics=optics)


def measured(
    photo: Opened, view: View, outline: Outline, *, height: Height, given: bool
) -> Measured | Problem:
    """Measure an outline, believed as far as a person or the machine drew it."""
    height_px, width_px = photo.grey.shape
    return measure_outline(
        view,
        outline_px=outline,
        height=height,
        error=REVIEWED if given else SUGGESTED,
        size=(width_px, height_px),
    )


def suggested(
    photo: Opened, view: View, *, height: Height, symbol_mm: float | None
) -> tuple[Outline, list[Problem]]:
    """Suggest an outline for the frag in the card's window, or beside its label."""
    colour = photo.colour
    side = symbol_mm or ANY_SYMBOL_MM
    tap = place_of_frag(colour, view, symbol_mm=side, height_mm=height.seen_mm)
    if tap is None:
        return (), []
    found = suggest_outline(
        colour,
        view,
        tap_px=(float(tap[0]), float(tap[1])),
        height_mm=height.seen_mm,
        labels_px=[label.corners for label in photo.labels],
    )
    outline = tuple((float(x), float(y)) for x, y in found.outline_px)
    return outline, list(found.doubts)
