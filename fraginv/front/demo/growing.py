"""The bench and the troughs of the demo: cutting, healing, losses, grading, pictures."""

from datetime import date, timedelta
from functools import partial
from random import Random

from fraginv.front.demo import cast
from fraginv.front.demo.agenda import Agenda, days_before
from fraginv.front.demo.lives import Lives
from fraginv.front.demo.sizes import Measurer
from fraginv.front.demo.stage import Scene
from fraginv.front.drawings.frag import draw_frag
from fraginv.growth.actions.photos import file_photo
from fraginv.stock.actions.aside import keep_back, set_apart
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.grading import grade_frags, mark_healed
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Frag

CUT_DAYS = (404, 300, 196, 128, 52, 6)
HEALS_IN = 16
SIZES = "SMMMMLL"
AGES = {"S": 60, "M": 130, "L": 260}
# Out of so many graded frags one is kept back, and one set apart.
KEPT_BACK, APART = FATES = ("kept back", "apart")
OUT_OF = 30
CAUSES = ("rtn", "stung", "fell", "bleaching", "unknown")


class Bench:
    """Cut on the days planned, and put what follows from it on the agenda."""

    def __init__(self, scene: Scene, agenda: Agenda) -> None:
        self.scene = scene
        self.agenda = agenda
        self.lives = Lives(Random(scene.chance.getrandbits(64)))  # noqa: S311 a story
        self.measurer = Measurer(scene, agenda)
        self.fates: list[str] = []

    def plan(self) -> None:
        """Put every cutting of the fourteen months on the agenda."""
        today, chance = self.agenda.today, self.scene.chance
        kinds = {kind.name: kind for kind in cast.varieties()}
        for place, kind in enumerate(kinds.values()):
            for days in CUT_DAYS[place % 2 :: 2]:
                day = days_before(today, max(2, days + chance.randint(-6, 6)))
                self.agenda.add(day, partial(self.cut, kind, 0))
        for name, pieces, months in cast.LOTS:
            kind = kinds[name]
            day = days_before(today, months * 30 + 12)
            self.agenda.add(day, partial(self.cut, kind, pieces))

    def cut(self, kind: cast.Kind, lot: int, day: date) -> None:
        """Cut a colony, and plan its pieces' way to being ready."""
        chance = self.scene.chance
        cutting = cut_colony(
            self.scene.colonies[kind.name].pk,
            pieces=lot or kind.pieces + chance.randint(-1, 1),
            lost=chance.choice((0, 0, 1, 2)),
            lot=bool(lot),
            rack=chance.choice(self.scene.racks),
            despite_rest="ordered by a shop",
            by=self.scene.grower,
        )
        frags = list(cutting.frags.order_by("pk"))
        ids = [frag.pk for frag in frags]
        for one in ids[-2:]:
            self.measurer.plan(kind, one, day)
        if day > days_before(self.agenda.today, 60):
            self.picture(kind, frags[0], age=2)
        self.agenda.add(day + timedelta(days=HEALS_IN), partial(self.heal, ids), hour=10)
        ready = self.lives.days_ready(ids, cut_on=day, usual_days=kind.ready_days)
        for then, some in ready.items():
            shown = ids[0] if ids[0] in some else None
            self.agenda.add(then, partial(self.grade, kind, some, shown), hour=11)

    def heal(self, ids: list[int], day: date) -> None:
        """Lose one now and then, and note that the others have healed."""
        if self.scene.chance.random() < 0.55:
            self.lose(self.scene.chance.choice(ids))
        living = Frag.objects.filter(pk__in=ids, pieces__gte=1, stage="healing")
        mark_healed(living.values_list("pk", flat=True), by=self.scene.grower)

    def lose(self, frag_id: int) -> None:
        """Write off one piece."""
        frag = Frag.objects.get(pk=frag_id)
        if frag.free and (frag.is_lot or frag.pieces == 1):
            cause = self.scene.chance.choice(CAUSES)
            record_loss(frag_id, pieces=1, cause=cause, by=self.scene.grower)

    def grade(self, kind: cast.Kind, ids: list[int], shown: int | None, day: date) -> None:
        """Grade what lives, each by eye; photograph the one that is to be shown."""
        frags = list(Frag.objects.filter(pk__in=ids, pieces__gte=1).order_by("pk"))
        chance = self.scene.chance
        for frag in frags:
            heads = kind.heads + chance.randint(0, 2) if kind.heads else None
            size = "M" if frag.is_lot else chance.choice(SIZES)
            grade_frags([frag.pk], size=size, heads=heads, by=self.scene.grower)
            if frag.pk == shown:
                self.picture(kind, frag, age=AGES[size])
            else:
                self.set_aside(frag)

    def set_aside(self, frag: Frag) -> None:
        """Keep one back for the open day, or apart because it looks unwell, now and then."""
        if frag.is_lot:
            return
        if not self.fates:
            self.fates = [*FATES, *[""] * (OUT_OF - len(FATES))]
            self.scene.chance.shuffle(self.fates)
        fate = self.fates.pop()
        if fate == KEPT_BACK:
            keep_back([frag.pk], kept=True, by=self.scene.grower)
        elif fate == APART:
            set_apart([frag.pk], by=self.scene.grower, reason="edge pale, watch it")

    def picture(self, kind: cast.Kind, frag: Frag, *, age: int) -> None:
        """File a drawn picture of a frag."""
        data = draw_frag(
            frag.variety.group,
            hue=kind.hue,
            seed=self.scene.chance.randrange(1_000_000),
            age=age,
            form=kind.form,
        )
        file_photo(frag, data=data, by=self.scene.grower)
