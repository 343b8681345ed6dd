"""Walking past the racks of the demo: holes, rounds, a count."""

from datetime import date
from typing import Final

from fraginv.front.demo.agenda import Agenda, days_before
from fraginv.front.demo.stage import Scene
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.actions.moving import fill_holes
from fraginv.stock.actions.rack_counts import settle_count
from fraginv.stock.actions.racks import see_rack
from fraginv.stock.models import Frag, Rack
from fraginv.stock.models.frags import LIVES

ROUND_DAYS: Final = (57, 50, 43, 36, 29, 22, 15, 8, 4, 1)
HOLE_DAYS: Final = (60, 3)
COUNT_DAY: Final = 5


class Walker:
    """Put frags into holes, walk past the racks once a week and more often lately."""

    def __init__(self, scene: Scene, agenda: Agenda) -> None:
        self.scene = scene
        self.agenda = agenda

    def plan(self) -> None:
        """Put holes, rounds and a count on the agenda."""
        today = self.agenda.today
        for days in HOLE_DAYS:
            self.agenda.add(days_before(today, days), self.into_holes, hour=14)
        for days in ROUND_DAYS:
            self.agenda.add(days_before(today, days), self.round, hour=16)
        self.agenda.add(days_before(today, COUNT_DAY), self.count, hour=17)
        self.agenda.add(days_before(today, 1), self.trouble, hour=15)

    def into_holes(self, day: date) -> None:
        """Put what stands in a rack into its holes, but for lots and what no longer fits."""
        for rack in self.scene.racks:
            free = rack.rows * rack.columns
            there = Frag.objects.filter(LIVES, rack=rack, is_lot=False).order_by("pk")
            ids = list(there.values_list("pk", flat=True)[:free])
            if ids:
                fill_holes(ids, rack=rack, by=self.scene.grower)

    def round(self, day: date) -> None:
        """Look at every rack; lately one was left for the next day."""
        racks = [*self.scene.racks, self.scene.quarantine]
        for rack in racks if day < days_before(self.agenda.today, 1) else racks[1:]:
            see_rack(rack.pk, by=self.scene.grower)

    def count(self, day: date) -> None:
        """Count a rack in which all is there."""
        rack: Rack = self.scene.racks[0]
        there = dict(Frag.objects.filter(LIVES, rack=rack).values_list("pk", "pieces"))
        settle_count(rack.pk, there=there, by=self.scene.grower)

    def trouble(self, day: date) -> None:
        """Find something wrong with a frag that does not grow for sale yet."""
        rack = self.scene.racks[1]
        frag = Frag.objects.filter(LIVES, rack=rack, is_lot=False).exclude(stage="ready").first()
        if frag is not None:
            mark_wrong([frag.pk], wrong="algae", note="on the plug", by=self.scene.grower)
