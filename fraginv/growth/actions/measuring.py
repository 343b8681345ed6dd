"""Storing the sizes of frags that were measured in photos."""

from typing import Final

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.growth.models import Measurement, Photo
from fraginv.growth.rules.drawn import Sized, said_of
from fraginv.stock.actions.looks import note_size

# Whatever was measured before, the new size takes its place.
ANY: Final = -1


@one_transaction
def save_measurement(
    photo: Photo, *, sized: Sized, by: Person, instead_of: int | None = ANY
) -> Measurement:
    """Store a frag's size as one of its photos shows it; the frag's log says so.

    An earlier one of the same photo is replaced and stays. What was measured is worked out
    before, by ``queries.measuring.sized``, for it takes long.
    Args: ``instead_of`` is the number of the size that the person saw when beginning, None
        where there was none; ``ANY`` replaces whatever is there.
    Raises: Conflict where somebody measured the photo, took it out, or changed the frag in
        the meantime.
    Queries: 8.
    """
    if photo.frag_id is None:
        raise Conflict("This picture shows no single frag, so no size can be stored for it.")
    now = clock.now()
    refuse_taken_out(photo)
    rows = Measurement.objects.filter(photo=photo, replaced_at__isnull=True)
    if instead_of != ANY:
        refuse_overtaken(rows.select_related("by").first(), instead_of=instead_of)
    rows.update(replaced_at=now)
    measurement = Measurement.objects.create(
        photo=photo,
        frag_id=photo.frag_id,
        taken_at=photo.taken_at,
        taken_on=photo.taken_on,
        by=by,
        at=now,
        **columns_of(sized),
    )
    size = {"area_mm2": sized.area_mm2, "diameter_mm": sized.diameter_mm, "heads": sized.heads}
    known = {name: round(value, 2) for name, value in size.items() if value is not None}
    note_size(photo.frag_id, measurement_id=measurement.pk, size=known, by=by)
    return measurement


def refuse_taken_out(photo: Photo) -> None:
    """Lock a photo, so that whoever else measures it or takes it out waits.

    Raises: Conflict where it was taken out.
    """
    if Photo.objects.select_for_update().filter(pk=photo.pk).first() is None:
        raise Conflict(
            "Somebody took this photo out in the meantime, since it shows something else. Nothing"
            " is stored. Open the frag's page to see its photos."
        )


def refuse_overtaken(present: Measurement | None, *, instead_of: int | None) -> None:
    """Refuse to replace a size that the person has not seen.

    Raises: Conflict, with the number of the present one.
    """
    number = present.pk if present else None
    if present is None or number == instead_of:
        return
    raise Conflict(
        f"{present.by.name} has measured this photo in the meantime: {said_of(present)}. Save again"
        " to put yours in its place, or leave it as it is.",
        present=number,
    )


def columns_of(sized: Sized) -> dict[str, object]:
    """Return what is stored of a size, by column."""
    return {
        "area_mm2": sized.area_mm2,
        "sigma_area_mm2": sized.sigma_area_mm2,
        "diameter_mm": sized.diameter_mm,
        "sigma_diameter_mm": sized.sigma_diameter_mm,
        "heads": sized.heads,
        "scale": sized.view.scale.value if sized.view else "",
        "height_mm": sized.height_mm,
        "through_water": sized.through_water,
        "outline_by": sized.outline_by,
        "outline_px": sized.outline_px,
        "outline_mm": sized.outline_mm,
        "heads_px": sized.heads_px,
        "pose": sized.view.as_dict() if sized.view else {},
        "problems": [problem.as_dict() for problem in sized.problems],
        "method": sized.method.value,
        "version": sized.version,
    }
