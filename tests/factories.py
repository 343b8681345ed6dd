"""Rows for tests, made by the same actions that people use."""

from datetime import timedelta
from typing import Any

from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.stock.actions.catalogue import (
    add_rack,
    add_system,
    add_trough,
    add_variety,
)
from fraginv.stock.actions.colonies import add_colony
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.models import Colony, Frag, Rack, System, Trough, Variety


def make_variety(by: Person, **overrides: Any) -> Variety:
    """Make a variety with an invented name of its own."""
    fields = {"genus": "Acropora"} | overrides
    name = fields.pop("name", f"Harbour Lantern {Variety.objects.count() + 1}")
    return add_variety(name, by=by, **fields)


def make_rack(by: Person, **overrides: Any) -> Rack:
    """Make a rack of 6 by 10 holes in the trough A of the display's system."""
    quarantine = overrides.pop("quarantine", False)
    water = "Quarantine" if quarantine else "Display"
    system = System.objects.filter(name=water).first() or add_system(
        water, by=by, quarantine=quarantine
    )
    trough = Trough.objects.filter(system=system).first() or add_trough(system, name="A", by=by)
    fields: dict[str, Any] = {
        "name": f"rack {Rack.objects.count() + 1}",
        "rows": 6,
        "columns": 10,
    } | overrides
    return add_rack(trough, by=by, **fields)


def make_colony(by: Person, **overrides: Any) -> Colony:
    """Make a colony that came in a year ago and needs no rest."""
    fields: dict[str, Any] = {
        "acquired_on": today() - timedelta(days=365),
        "rest_days": 0,
    } | overrides
    variety = fields.pop("variety", None) or make_variety(by)
    return add_colony(variety, by=by, **fields)


def make_frags(by: Person, count: int = 1, **overrides: Any) -> list[Frag]:
    """Cut frags of one piece each; ``ready=True`` grades them M at once."""
    ready = overrides.pop("ready", False)
    size = overrides.pop("size", "M")
    colony = overrides.pop("colony", None) or make_colony(by)
    cutting = cut_colony(colony.pk, pieces=count, by=by, **overrides)
    if ready:
        grade_frags([frag.pk for frag in cutting.frags.all()], size=size, by=by)
    return list(cutting.frags.select_related("variety__genus", "colony").order_by("pk"))


def make_frag(by: Person, **overrides: Any) -> Frag:
    """Cut one frag."""
    return make_frags(by, 1, **overrides)[0]


def make_lot(by: Person, pieces: int = 30, **overrides: Any) -> Frag:
    """Cut one lot."""
    return make_frags(by, pieces, lot=True, **overrides)[0]
