"""The demo's walk through the main job, in a place where nothing has happened yet."""

from datetime import date, timedelta
from pathlib import Path
from random import Random

import pytest

from fraginv.base import chance, clock
from fraginv.base.rules.days import business_day
from fraginv.front.demo import cast
from fraginv.front.demo.stage import Scene, set_scene
from fraginv.front.demo.walk import walk
from fraginv.front.queries.differences import differences
from fraginv.stock.models import Claim, Frag
from fraginv.trade.models import Payment, Sale


def present_day() -> date:
    return business_day(clock.now(), cast.ZONE)


@pytest.fixture
def scene(db: None) -> Scene:
    """The stage on its first day."""
    with chance.seeded(5):
        return set_scene(Random(5), first_day=present_day() - timedelta(days=30))


def test_with_nothing_at_hand_the_grower_grades_what_is_sold(scene: Scene, tmp_path: Path) -> None:
    assert not Frag.objects.exists()
    said: list[str] = []
    with chance.seeded(6):
        walk(scene, home=tmp_path, say=said.append)
    sale = Sale.objects.get()
    assert sorted(sale.lines.values_list("quantity", flat=True)) == [1, 5]
    assert Payment.objects.get().amount == sale.total > 0
    assert Frag.objects.filter(stage="sold").count() == 1
    assert Frag.objects.get(is_lot=True).pieces == 25
    assert Claim.objects.filter(kind="sale").count() == 2
    assert list(differences()) == []
    for paper in ("labels", "sheet", "month"):
        assert (tmp_path / f"{paper}.pdf").read_bytes().startswith(b"%PDF-")
    text = "\n".join(said)
    for words in (
        "into 12 frags, 1 more was lost",
        "into one lot of 30",
        "graded 3 of the oldest ready",
        "A second seller was told:",
        "Ines Varga has 1 until",
        sale.paper,
    ):
        assert words in text
