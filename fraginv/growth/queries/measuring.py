"""Sizes of frags in photos: what is stored, and working out what will be."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from numpy.typing import ArrayLike

from fraginv.base.errors import InputError, NotFound
from fraginv.growth.models import Measurement, Photo
from fraginv.growth.queries.sights import Subject, colour_of, seen_in
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Scale, View
from fraginv.growth.rules.drawn import (
    Doubt,
    Drawn,
    Method,
    Pairs,
    Sized,
    curve_of,
    handles_px_of,
    is_like_a_rim,
    stored,
)
from fraginv.growth.rules.heights import check_height, face_of, height_from
from fraginv.growth.rules.measured import OutlineBy
from fraginv.growth.rules.measuring import (
    Height,
    Measured,
    measure_length,
    measure_outline,
)
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.suggesting import glare_within

# What is said beside a measure elsewhere, and refused where a person can mend it at once.
REFUSED: Final = (problems.OUTLINE_AT_EDGE, problems.HEIGHT_MISSING)


def present_measurement(photo: Photo) -> Measurement | None:
    """Return the size that holds for a photo, or None.

    Queries: 1.
    """
    rows = Measurement.objects.select_related("by").filter(photo=photo, replaced_at__isnull=True)
    return rows.first()


def measurement_by_id(measurement_id: int) -> Measurement:
    """Return a size that was stored, with its frag.

    Raises: NotFound.
    Queries: 1.
    """
    found = Measurement.objects.select_related("frag").filter(pk=measurement_id).first()
    if found is None:
        raise NotFound("There is no such measurement. Open the frag's page to see its sizes.")
    return found


def sizes_of(photos: Iterable[Photo]) -> dict[int, Measurement]:
    """Return the size that holds for each of some photos that was measured, by the photo's id.

    Queries: 1.
    """
    rows = Measurement.objects.filter(photo__in=[photo.pk for photo in photos])
    return {row.photo_id: row for row in rows.filter(replaced_at__isnull=True)}


@dataclass(frozen=True)
class Scaled:
    """A view to measure by, and what is to be said of it."""

    view: View
    problems: tuple[Problem, ...]


def scale_for(subject: Subject, *, drawn: Drawn) -> Scaled:
    """Return the view to measure by: the photo's own, else that of a length set by hand.

    Raises: InputError where there is neither; NotFound where the original is missing.
    """
    seen = seen_in(subject)
    if seen.view is not None:
        return Scaled(seen.view, seen.problems)
    if drawn.by_hand is None:
        raise InputError(" ".join(problem.text for problem in seen.problems))
    return Scaled(drawn.by_hand.view(subject.size, focal=subject.focal), ())


def sized(subject: Subject, *, drawn: Drawn) -> Sized:
    """Measure what a person drew into a photo, from the stored original alone.

    This takes long and writes nothing, so it goes before the transaction.
    Raises: InputError where it cannot be measured; Doubt for what is asked first;
        NotFound where the original is missing.
    """
    if not (drawn.handles_px or drawn.ends_px or drawn.heads_px):
        raise InputError("Nothing is drawn yet. Tap the coral, or its heads.")
    inside(subject, points=drawn.heads_px)
    if not (drawn.handles_px or drawn.ends_px):
        return Sized(Method.HEADS, heads_px=drawn.heads_px)
    if drawn.height_mm is None:
        raise InputError(problems.HEIGHT_MISSING.text)
    check_height(drawn.height_mm)
    scaled = scale_for(subject, drawn=drawn)
    measured = by_outline if drawn.handles_px else by_length
    return measured(subject, drawn, scaled)


def inside(subject: Subject, *, points: Iterable[tuple[float, float]]) -> None:
    """Refuse points that lie outside the photo.

    Raises: InputError.
    """
    width, height = subject.size
    if not all(-0.5 <= x <= width - 0.5 and -0.5 <= y <= height - 0.5 for x, y in points):
        raise InputError("A point lies outside the photo. Remove it, or move it into the photo.")


def by_outline(subject: Subject, drawn: Drawn, scaled: Scaled) -> Sized:
    """Measure a smooth outline through few points."""
    view, height = scaled.view, height_of(subject, drawn, view=scaled.view)
    outline = curve_of(view, drawn.handles_px, height=height)
    found = measured_or_refused(
        measure_outline(view, outline_px=outline, height=height, size=subject.size)
    )
    if is_like_a_rim(
        found.area_mm2,
        diameter_mm=found.diameter_mm,
        medium=subject.medium,
        lower=larger_on_the_face(subject, view=view, height=height),
        by_hand=view.scale == Scale.HAND,
    ):
        found = replace(found, problems=(*found.problems, problems.OUTLINE_IS_PLUG))
        if problems.OUTLINE_IS_PLUG.code not in drawn.sure:
            raise Doubt(problems.OUTLINE_IS_PLUG)
    found = with_glare(found, subject, view=view, outline=outline, height=height)
    kept = stored(found.outline_mm, view=view, height=height)
    return outline_sized(found, drawn, scaled, outline=kept)


def with_glare(
    found: Measured, subject: Subject, *, view: View, outline: ArrayLike, height: Height
) -> Measured:
    """Return a size with what is to be said of lamps that are mirrored inside its outline.

    Args: the outline in pixels, n × 2.
    """
    said = glare_within(colour_of(subject), view, outline_px=outline, height_mm=height.seen_mm)
    return replace(found, problems=(*found.problems, *said))


def height_of(subject: Subject, drawn: Drawn, *, view: View) -> Height:
    """Return how high a frag is widest, and how far that is to be believed."""
    return height_from(
        drawn.height_mm,
        medium=subject.medium,
        scale=view.scale,
        through_water=drawn.through_water,
    )


def larger_on_the_face(subject: Subject, *, view: View, height: Height) -> float:
    """Return by how much lengths are larger on the upper face of the plug than at a height."""
    face = Height(face_of(subject.medium, scale=view.scale), through_water=height.through_water)
    return (view.distance_mm - face.seen_mm) / (view.distance_mm - height.seen_mm)


def outline_sized(
    found: Measured, drawn: Drawn, scaled: Scaled, *, outline: tuple[Pairs, Pairs]
) -> Sized:
    """Return what is stored of an outline that was measured.

    Args: ``outline`` in pixels and in millimetres, as it is stored.
    """
    return Sized(
        method=Method.OUTLINE,
        view=scaled.view,
        area_mm2=found.area_mm2,
        sigma_area_mm2=found.sigma_area_mm2,
        diameter_mm=found.diameter_mm,
        sigma_diameter_mm=found.sigma_diameter_mm,
        heads_px=drawn.heads_px,
        height_mm=drawn.height_mm,
        through_water=drawn.through_water,
        outline_by=drawn.outline_by.value,
        outline_px=outline[0],
        outline_mm=outline[1],
        problems=(*scaled.problems, *found.problems),
    )


def by_length(subject: Subject, drawn: Drawn, scaled: Scaled) -> Sized:
    """Measure the width between two points alone."""
    if len(drawn.ends_px) != 2:
        raise InputError("A width lies between two points. Tap both ends of the frag.")
    inside(subject, points=drawn.ends_px)
    height = height_of(subject, drawn, view=scaled.view)
    found = measure_length(scaled.view, ends_px=drawn.ends_px, height=height)
    if isinstance(found, Problem):
        raise InputError(found.text)
    return Sized(
        method=Method.LENGTH,
        view=scaled.view,
        diameter_mm=found.mm,
        sigma_diameter_mm=found.sigma_mm,
        heads_px=drawn.heads_px,
        height_mm=drawn.height_mm,
        through_water=drawn.through_water,
        outline_by=OutlineBy.DRAWN.value,
        outline_px=drawn.ends_px,
        problems=(*scaled.problems, *found.problems),
    )


def measured_or_refused(found: Measured | Problem) -> Measured:
    """Return a size that can be stored.

    Raises: InputError with what is wrong and what to do.
    """
    if isinstance(found, Problem):
        raise InputError(found.text)
    for problem in found.problems:
        if problem in REFUSED:
            raise InputError(problem.text)
    return found


def sized_anew(subject: Subject, *, kept: Measurement) -> Sized:
    """Measure what was drawn before with the present method, from the stored photo.

    A scale that was set by hand stays as it was set.
    Raises: as ``sized``.
    """
    heads, points = as_pairs(kept.heads_px), as_pairs(kept.outline_px)
    if not points:
        return Sized(Method.HEADS, heads_px=heads)
    drawn = Drawn(
        height_mm=kept.height_mm,
        through_water=kept.through_water,
        ends_px=points if kept.method == Method.LENGTH else (),
        heads_px=heads,
        outline_by=OutlineBy(kept.outline_by),
    )
    view = View.of_dict(kept.pose)
    scaled = Scaled(view, ()) if view.scale == Scale.HAND else scale_for(subject, drawn=drawn)
    if kept.method == Method.LENGTH:
        return by_length(subject, drawn, scaled)
    height = height_of(subject, drawn, view=scaled.view)
    found = measured_or_refused(
        measure_outline(scaled.view, outline_px=points, height=height, size=subject.size)
    )
    found = with_glare(found, subject, view=scaled.view, outline=points, height=height)
    return outline_sized(found, drawn, scaled, outline=(points, found.outline_mm))


def as_pairs(kept: Iterable[Iterable[float]]) -> Pairs:
    """Return points that were stored as JSON."""
    return tuple((float(x), float(y)) for x, y in kept)


def handles_kept(kept: Measurement | None) -> list[tuple[float, float]]:
    """Return few points by which a stored outline is moved, in pixels; none where there is none."""
    if kept is None or kept.method != Method.OUTLINE or not kept.outline_px:
        return []
    height = Height(kept.height_mm, through_water=kept.through_water)
    return list(handles_px_of(View.of_dict(kept.pose), kept.outline_px, height=height))
