"""Building the demo: the same every time for the same seed and day."""

from datetime import timedelta
from pathlib import Path

from django.db import transaction

from fraginv.base import chance, clock
from fraginv.base.queries.organisation import today
from fraginv.base.rules.days import business_day
from fraginv.front.demo import cast
from fraginv.front.demo.agenda import Agenda
from fraginv.front.demo.drawer import fill_drawer
from fraginv.front.demo.growing import Bench
from fraginv.front.demo.nursery import Nursery
from fraginv.front.demo.selling import Desk
from fraginv.front.demo.stage import set_scene
from fraginv.front.demo.walk import Say, walk
from fraginv.front.demo.walking import Walker
from fraginv.front.demo.water import Plumbing
from fraginv.growth.actions.paces import count_paces
from fraginv.stock.models import Colony, Frag


def tell(seed: int, *, home: Path, say: Say) -> None:
    """Build fourteen months in an empty database, then walk the main job through once.

    All of it is one transaction, so that a demo is there whole or not at all.
    """
    with chance.seeded(seed) as source, transaction.atomic():
        present = business_day(clock.now(), cast.ZONE)
        scene = set_scene(source, first_day=present - timedelta(days=cast.MONTHS * 30 + 5))
        agenda = Agenda(zone=cast.ZONE, today=today())
        Bench(scene, agenda).plan()
        Nursery(scene, agenda).plan()
        Desk(scene, agenda).plan()
        Walker(scene, agenda).plan()
        Plumbing(scene, agenda).plan()
        agenda.run()
        say(f"{cast.NAME}: {count_stock()} over {cast.MONTHS} months.")
        walk(scene, home=home, say=say)
        fill_drawer(scene)
        count_paces()


def count_stock() -> str:
    """Say how many frags, lots and colonies there have been.

    Queries: 3.
    """
    frags = Frag.objects.filter(is_lot=False).count()
    lots = Frag.objects.filter(is_lot=True).count()
    return f"{frags} frags and {lots} lots of {Colony.objects.count()} colonies"
