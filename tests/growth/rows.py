"""Frags that grew over months and were measured, for tests of growth and forecasts."""

import math
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Measurement
from fraginv.growth.rules.camera import Scale, View
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.grading import grade_frags, mark_healed
from fraginv.stock.actions.looks import note_size
from fraginv.stock.models import Colony, Frag
from tests.base.test_pictures import make_picture

# A camera straight above, 300 mm away; 6 pixels are a millimetre at height 0.
ABOVE = View(
    focal_px=1800.0,
    centre=(319.5, 239.5),
    rotation=((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    translation=(0.0, 0.0, 300.0),
    scale=Scale.CARD,
    sigma_scale=0.002,
    sigma_focal=0.015,
)


def noon(day: date) -> datetime:
    """Return the middle of a day where the tests' house stands."""
    return datetime.combine(day, time(17), UTC)


def ago(days: int) -> date:
    """Return the day so many days ago."""
    return today() - timedelta(days=days)


def cut(colony: Colony, *, by: Person, days: int, pieces: int = 6, lot: bool = False) -> list[Frag]:
    """Cut frags some days ago; they have healed since where that is long enough."""
    with clock.at(noon(ago(days))):
        cutting = cut_colony(colony.pk, pieces=pieces, lot=lot, by=by)
        frags = list(cutting.frags.order_by("pk"))
    if days > 14:
        with clock.at(noon(ago(days - 14))):
            mark_healed([frag.pk for frag in frags], by=by)
    return list(cutting.frags.select_related("variety__genus").order_by("pk"))


def grade(frags: list[Frag], *, by: Person, days: int) -> None:
    """Grade frags ready some days ago."""
    with clock.at(noon(ago(days))):
        grade_frags([frag.pk for frag in frags], size="M", by=by)


def outline(area_mm2: float, *, lobes: int = 5, turned: float = 0.0) -> list[list[float]]:
    """Return a lobed outline of an area, in mm around the middle of the card."""
    angles = np.linspace(0, 2 * math.pi, 48, endpoint=False)
    radii = 1 + 0.15 * np.cos(lobes * angles + turned) + 0.1 * np.cos(angles + turned)
    points = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    x, y = points.T
    area = float(abs(x @ np.roll(y, -1) - np.roll(x, -1) @ y) / 2)
    return [[float(x), float(y)] for x, y in points * math.sqrt(area_mm2 / area)]


def measure(
    frag: Frag, *, by: Person, days: int, area_mm2: float, with_outline: bool = False
) -> Measurement:
    """Store a size of a frag as a photo of some days ago shows it."""
    height = 12.0
    points = outline(area_mm2) if with_outline else []
    with clock.at(noon(ago(days))):
        count = Measurement.objects.count()
        picture = make_picture(size=(640, 480 + count % 400))
        photo = file_photo(frag, data=picture, by=by)
        made = Measurement.objects.create(
            photo=photo,
            frag=frag,
            area_mm2=area_mm2,
            sigma_area_mm2=0.03 * area_mm2,
            diameter_mm=math.sqrt(area_mm2 / (math.pi / 4 * 2 / 3)),
            sigma_diameter_mm=0.4,
            scale=Scale.CARD.value,
            height_mm=height,
            outline_by="adjusted",
            outline_px=[list(map(float, one)) for one in ABOVE.to_pixels(points, height)]
            if points
            else [],
            outline_mm=points,
            pose=ABOVE.as_dict(),
            method="outline",
            version="1",
            taken_at=photo.taken_at,
            taken_on=photo.taken_on,
            by=by,
            at=clock.now(),
        )
        size = {"area_mm2": area_mm2}
        note_size(frag.pk, measurement_id=made.pk, size=size, by=by)
        return made
