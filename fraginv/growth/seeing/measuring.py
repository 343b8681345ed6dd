"""What gives a photograph its measure: the card where it is seen, else the frag's label."""

import math
from dataclasses import replace
from typing import Final

import numpy as np

from fraginv.base.rules.card import CARD_HEIGHT_MM, CARD_WIDTH_MM
from fraginv.base.rules.optics import Optics
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Focal, View
from fraginv.growth.rules.outlines import area_mm2
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.edges import Grey
from fraginv.growth.seeing.sights import ReadLabel, Sight, view_of_card, view_of_label

LENS: Final = {
    Optics.ALTERED: (problems.FOCAL_ALTERED,),
    Optics.NONE: (problems.FOCAL_SUPPOSED,),
}


def scale_of(
    grey: Grey,
    *,
    focal: Focal,
    label: ReadLabel | None = None,
    symbol_mm: float | None = None,
    optics: str = Optics.CAMERA,
) -> Sight:
    """Return where the camera stood, and all that is to be said of the scale.

    The card is believed before the label; where the label lies on the card, both must tell
    the same.

    Args: the upright photograph h × w; the frag's own label, if any was read, and the side of
        its symbol as printed, if that is known.
    """
    card = view_of_card(grey, focal=focal)
    by_label = sight_of_label(grey, focal=focal, label=label, symbol_mm=symbol_mm)
    if card is None and by_label is None:
        return Sight(None, (problems.NO_SCALE,))
    if card is not None and card.view is not None:
        compared = gap_between(card.view, by_label, symbol_mm=symbol_mm)
        chosen = replace(card, problems=(*card.problems, *compared))
    elif by_label is not None and by_label.view is not None:
        chosen = by_label
    else:
        failed = [sight.problems for sight in (card, by_label) if sight is not None]
        return Sight(None, tuple(problem for said in failed for problem in said))
    lens = LENS.get(Optics(optics), ()) if optics else ()
    return replace(chosen, problems=(*chosen.problems, *lens))


def sight_of_label(
    grey: Grey, *, focal: Focal, label: ReadLabel | None, symbol_mm: float | None
) -> Sight | None:
    """Return what the label tells; None where there is none."""
    if label is None:
        return None
    if symbol_mm is None:
        return Sight(None, (problems.LABEL_SIZE_UNKNOWN,))
    return view_of_label(grey, label=label, symbol_mm=symbol_mm, focal=focal)


def gap_between(
    card: View, by_label: Sight | None, *, symbol_mm: float | None
) -> tuple[Problem, ...]:
    """Return what is to be said where a label on the card tells another scale than the card."""
    if by_label is None or by_label.view is None or symbol_mm is None:
        return ()
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * symbol_mm
    there = card.to_plane(by_label.view.to_pixels(square))
    x, y = there.mean(axis=0)
    # Off the card a label lies at a height of its own.
    if not (0 <= x <= CARD_WIDTH_MM and 0 <= y <= CARD_HEIGHT_MM):
        return ()
    share = symbol_mm / math.sqrt(area_mm2(there)) - 1
    return (problems.scales_differ(share),) if abs(share) > problems.LARGEST_SCALE_GAP else ()
