"""The water of the demo: a log of it, an outage, and a stop-sale in quarantine.

Its figures follow a curve and no chance, so that the rest of the story stays as it is.
"""

from datetime import date
from decimal import Decimal
from functools import partial
from math import sin
from typing import Final

from fraginv.front.demo.agenda import Agenda, days_before
from fraginv.front.demo.stage import Scene
from fraginv.stock.actions.stops import start_stop
from fraginv.stock.actions.water import Reading, log_water
from fraginv.stock.models import System
from fraginv.stock.rules.water import WaterKind

LOGGED_DAYS: Final = 120
EVERY: Final = 4
OUTAGE: Final = 33
# While the pump was mended nobody measured.
SILENT: Final = range(OUTAGE - 9, OUTAGE)
STOPPED: Final = 5


class Plumbing:
    """Measure the display's water on its days, and write down what went wrong."""

    def __init__(self, scene: Scene, agenda: Agenda) -> None:
        self.scene = scene
        self.agenda = agenda

    def plan(self) -> None:
        """Put the log of four months on the agenda."""
        for ago in range(LOGGED_DAYS, 0, -1):
            day = days_before(self.agenda.today, ago)
            if ago % EVERY == 0 and ago not in SILENT:
                self.agenda.add(day, partial(self.measure, ago), hour=8)
            if ago == OUTAGE:
                self.agenda.add(day, self.fail, hour=9)
            if ago == STOPPED:
                self.agenda.add(day, self.stop, hour=17)

    def measure(self, ago: int, day: date) -> None:
        """Write down temperature and alkalinity, and the rest every other time."""
        values = {
            WaterKind.TEMPERATURE: 25.2 + 0.5 * sin(ago / 9),
            WaterKind.ALKALINITY: 8.1 + 0.6 * sin(ago / 13),
        }
        if ago % (2 * EVERY) == 0:
            values |= {
                WaterKind.CALCIUM: 422 + 11 * sin(ago / 17),
                WaterKind.NITRATE: 6 + 3 * sin(ago / 21),
                WaterKind.PHOSPHATE: 0.06 + 0.03 * sin(ago / 15),
            }
        self.write([Reading(kind, Decimal(f"{value:.2f}")) for kind, value in values.items()])

    def fail(self, day: date) -> None:
        """Write down a night without power, and what it did to the temperature."""
        cold = Reading(WaterKind.TEMPERATURE, Decimal("22.9"))
        self.write([Reading(WaterKind.OUTAGE, text="Power away for three hours at night"), cold])

    def write(self, readings: list[Reading]) -> None:
        """Write in the log of the display's water."""
        log_water(self.scene.racks[0].trough.system, readings=readings, by=self.scene.grower)

    def stop(self, day: date) -> None:
        """Stop the sale of what is in quarantine."""
        water = System.objects.filter(quarantine=True).first()
        if water is not None:
            start_stop(
                water,
                reason="Flatworms on two new plugs",
                ends_when="three clean checks, a week apart",
                by=self.scene.grower,
            )
