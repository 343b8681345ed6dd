"""``forecast`` on the command line, and the demo's growers in several houses."""

import io
import json
import math
from datetime import date, timedelta
from random import Random

import pytest
from django.core.management import call_command

from fraginv.base.models import Person
from fraginv.front.demo import cast
from fraginv.front.demo.growing import CUT_DAYS
from fraginv.front.demo.lives import CUTTINGS_APART, FRAGS_APART, Deck, Lives
from fraginv.growth.actions.paces import count_paces
from fraginv.growth.rules.checking import Checker, Outcome, score
from fraginv.growth.rules.pace import Span
from fraginv.growth.rules.paces import History
from fraginv.stock.models import Colony
from tests.factories import make_colony, make_variety
from tests.growth.rows import cut, grade, measure

LAST_DAY = date(2026, 11, 25)
GROUPS = {"Acropora": "SPS", "Montipora": "SPS", "Zoanthus": "zoanthid", "Discosoma": "mushroom"}
GROUPS |= {"Fimbriaphyllia": "LPS", "Caulastraea": "LPS", "Sarcophyton": "soft"}


def run(*arguments: str) -> str:
    """Run the command and return what it prints."""
    out = io.StringIO()
    call_command("forecast", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def colony(grower: Person) -> Colony:
    """A colony of which three cuttings became ready after 80, 90 and 100 days; six frags grow."""
    colony = make_colony(grower, variety=make_variety(grower, name="Pier Moss"))
    for days, took in ((300, 80), (250, 90), (200, 100)):
        grade(cut(colony, by=grower, days=days, pieces=4), by=grower, days=days - took)
    cut(colony, by=grower, days=60)
    count_paces()
    return colony


def test_a_house_in_which_nothing_grows(grower: Person) -> None:
    assert "Nothing heals or grows" in run()
    assert "became ready yet, so nothing can be checked" in run("--check")
    assert json.loads(run("--json")) == {"varieties": []}
    assert json.loads(run("--check", "--json"))["inside"] is None


def test_what_will_be_ready_by_when(colony: Colony) -> None:
    told = run()
    assert "Pier Moss: 6 pieces not ready yet; usually ready after 13 weeks" in told
    assert told.count("with 8 chances in 10") == 4
    (variety,) = json.loads(run("--json"))["varieties"]
    assert (variety["variety"], variety["group"], variety["not_ready"]) == ("Pier Moss", "SPS", 6)
    expected = [one["expected"] for one in variety["by"]]
    assert expected == sorted(expected)
    assert all(one["least"] <= one["most"] <= 6 for one in variety["by"])


def test_the_check_counts_each_frag_that_became_ready(colony: Colony, grower: Person) -> None:
    told = run("--check")
    assert "All: 100 % of 12 frags became ready inside the interval of 80 %" in told
    found = json.loads(run("--check", "--json"))
    assert (found["frags"], found["inside"]) == (12, 1.0)
    assert 0 <= found["error_days"] <= 15
    assert list(found["by_group"]) == ["SPS"]
    assert found["by_variety"]["Pier Moss"]["frags"] == 12
    frag = colony.frags.order_by("pk")[0]
    for days, area in ((290, 250.0), (262, 330.0)):
        measure(frag, by=grower, days=days, area_mm2=area)
    assert json.loads(run("--check", "--json"))["frags"] == 12


def test_a_deck_deals_each_part_of_the_curve_as_often_as_it_should() -> None:
    deck = Deck(Random(4), cards=20)
    for _ in range(3):
        dealt = sorted(deck.deal() for _ in range(20))
        assert sum(one < -1.2816 for one in dealt) == 2
        assert sum(one > 0 for one in dealt) == 10
    lives = Lives(Random(4))
    days = lives.days_ready(range(2000), cut_on=LAST_DAY, usual_days=90)
    logs = [math.log((day - LAST_DAY).days) for day, frags in days.items() for _ in frags]
    middle = sum(logs) / len(logs)
    assert abs(middle - math.log(90)) < 3 * CUTTINGS_APART
    spread = math.sqrt(sum((one - middle) ** 2 for one in logs) / len(logs))
    assert spread == pytest.approx(FRAGS_APART, rel=0.03)


def house(seed: int) -> list[History]:
    """Return what a house has seen in which the demo's growers cut on the demo's days."""
    chance, kinds = Random(seed), cast.varieties()
    cuttings = [
        (LAST_DAY - timedelta(days=max(2, days + chance.randint(-6, 6))), kind, kind.pieces)
        for place, kind in enumerate(kinds)
        for days in CUT_DAYS[place % 2 :: 2]
    ]
    cuttings += [
        (LAST_DAY - timedelta(days=months * 30 + 12), kind, 1)
        for name, _, months in cast.LOTS
        for kind in kinds
        if kind.name == name
    ]
    spans: dict[str, list[Span]] = {kind.name: [] for kind in kinds}
    lives = Lives(chance)
    for number, (day, kind, pieces) in enumerate(sorted(cuttings, key=lambda one: one[0])):
        ready = lives.days_ready(range(pieces), cut_on=day, usual_days=kind.ready_days)
        for then, frags in ready.items():
            came = then if then <= LAST_DAY else None
            spans[kind.name].append(Span((number, day), day, came, None, len(frags)))
    return [
        History(place, GROUPS[kind.genus], None, spans[kind.name])
        for place, kind in enumerate(kinds)
    ]


def test_the_demos_growers_keep_the_intervals_to_four_of_five() -> None:
    found: list[Outcome] = []
    shares = []
    for seed in range(8):
        outcomes = list(Checker(house(seed), ready_mm={}).outcomes())
        shares.append(score(outcomes).inside or 0)
        found += outcomes
    whole = score(found)
    assert whole.frags > 700
    assert whole.inside is not None
    assert 0.75 <= whole.inside <= 0.85
    assert sum(0.75 <= share <= 0.85 for share in shares) >= 6
