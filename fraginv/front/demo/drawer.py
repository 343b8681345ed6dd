"""The drawer of labels: a roll for bags, blank ones for the bench, a measured printer."""

from typing import Final

from fraginv.front.demo.stage import Scene
from fraginv.labels.actions.lost import mark_label_lost
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import add_printer, add_stock, adjust_stock, measure_printer
from fraginv.labels.rules.measures import roll_measures
from fraginv.labels.rules.printers import Check, Measures
from fraginv.stock.models import Frag
from fraginv.stock.rules.stages import Stage

BAGS: Final = "bag-80x50"
BLANK: Final = 60
LOST: Final = 3
# As a ruler found it: half a millimetre short across, and a little too far down.
OFFICE: Final = Measures(across_tenths=995, down_tenths=1000, left_tenths=200, top_tenths=208)


def fill_drawer(scene: Scene) -> None:
    """Describe the bags' labels, measure the printer, print ahead, miss some labels."""
    by = scene.grower
    printer = add_printer("Office", dpi=600, by=by)
    measure_printer(printer.pk, measures=OFFICE, check=Check(), by=by)
    bags = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)
    add_stock(BAGS, measures=bags, form="bag", by=by)
    start_run((), blank=BLANK, by=by)
    growing = Frag.objects.filter(stage=Stage.GROWING.value, pieces__gte=1).order_by("pk")
    mark_label_lost(list(growing.values_list("code_id", flat=True)[:LOST]), by=by)
    adjust_stock("a4-63.5x33.9", printer_id=printer.pk, by=by)
