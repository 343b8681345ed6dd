"""Frags of the demo that are measured: photographed on the card every few weeks as they grow."""

from datetime import date, timedelta
from functools import partial
from typing import Final

from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import address
from fraginv.front.demo import cast
from fraginv.front.demo.agenda import Agenda, days_before
from fraginv.front.demo.stage import Scene
from fraginv.front.drawings.carded import Carded, draw_on_card
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.queries.measuring import sized
from fraginv.growth.queries.sights import subject_of
from fraginv.growth.rules.camera import Scale
from fraginv.growth.rules.drawn import Drawn
from fraginv.growth.rules.heights import usual_height
from fraginv.growth.rules.measured import OutlineBy
from fraginv.stock.models import Frag

# Only what was cut in the last months is measured.
SINCE_DAYS: Final = 150
FIRST_DAY, EVERY_DAYS, TIMES = 5, 24, 4
SYMBOL_MM: Final = 16.9
HOUR: Final = 15


class Measurer:
    """Put on the agenda when a frag is photographed on the card, and measure it then."""

    def __init__(self, scene: Scene, agenda: Agenda) -> None:
        self.scene = scene
        self.agenda = agenda

    def plan(self, kind: cast.Kind, frag_id: int, day: date) -> None:
        """Plan the photos of a frag that was cut on a day."""
        if kind.name not in cast.MEASURED or day < days_before(self.agenda.today, SINCE_DAYS):
            return
        seed = self.scene.chance.randrange(1_000_000)
        for number in range(TIMES):
            then = day + timedelta(days=FIRST_DAY + number * EVERY_DAYS)
            self.agenda.add(then, partial(self.measure, kind, frag_id, seed), hour=HOUR)

    def measure(self, kind: cast.Kind, frag_id: int, seed: int, day: date) -> None:
        """Photograph a frag on the card, and store the outline that a person drew."""
        frag = Frag.objects.select_related("variety").get(pk=frag_id)
        if not frag.pieces:
            return
        height = usual_height(frag.medium, scale=Scale.CARD)
        drawn = self.drawing(kind, frag, seed=seed, age=(day - frag.cut_on).days, height_mm=height)
        photo = file_photo(frag, data=drawn.jpeg, by=self.scene.grower)
        asked = Drawn(height_mm=height, handles_px=drawn.outline_px, outline_by=OutlineBy.DRAWN)
        subject = subject_of(photo.pk, mark=photo.mark)
        save_measurement(photo, sized=sized(subject, drawn=asked), by=self.scene.grower)

    def drawing(
        self, kind: cast.Kind, frag: Frag, *, seed: int, age: int, height_mm: float
    ) -> Carded:
        """Draw a frag on the card as old as it is."""
        return draw_on_card(
            frag.variety.group,
            hue=kind.hue,
            seed=seed,
            age=age,
            height_mm=height_mm,
            address=address(organisation().label_host, frag.code_id),
            symbol_mm=SYMBOL_MM,
            form=kind.form,
        )
