"""An outline that is suggested for a frag in a photo, for a person to look at."""

from dataclasses import dataclass

from fraginv.base.errors import InputError
from fraginv.growth.queries.measuring import inside, scale_for
from fraginv.growth.queries.sights import Subject, colour_of, seen_in
from fraginv.growth.rules import problems
from fraginv.growth.rules.drawn import Drawn, Pair, Pairs, handles_px_of
from fraginv.growth.rules.heights import check_height
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.suggesting import suggest_outline


@dataclass(frozen=True)
class Suggestion:
    """Few points of a suggested outline in pixels of the upright photo, and what is doubtful."""

    handles_px: Pairs
    problems: tuple[Problem, ...]


def suggestion(subject: Subject, *, drawn: Drawn, tap_px: Pair) -> Suggestion:
    """Suggest the outline of what was tapped.

    Args: ``drawn`` holds the height, and a scale set by hand where the photo has none.
    Raises: InputError where there is no scale or height, or nothing is found there;
        NotFound where the original is missing.
    """
    if drawn.height_mm is None:
        raise InputError(problems.HEIGHT_MISSING.text)
    check_height(drawn.height_mm)
    inside(subject, points=[tap_px])
    scaled, height = scale_for(subject, drawn=drawn), drawn.height
    found = suggest_outline(
        colour_of(subject),
        scaled.view,
        tap_px=tap_px,
        height_mm=height.seen_mm,
        labels_px=seen_in(subject).labels_px,
    )
    if len(found.outline_px) < 3:
        said = " ".join(problem.text for problem in found.doubts)
        raise InputError(
            said or "No outline was found there. Tap the middle of the coral, or draw it yourself."
        )
    return Suggestion(
        handles_px_of(scaled.view, found.outline_px, height=height), tuple(found.doubts)
    )
