"""Whatever is done in whatever order: the log tells the present, and no piece is made up."""

from collections import Counter
from contextlib import suppress
from datetime import timedelta
from itertools import groupby, product

import pytest
from django.db import transaction
from django.db.models import F, Q, Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fraginv.base import clock
from fraginv.base.errors import FraginvError
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.effects import EFFECTS
from fraginv.stock.rules.events import FOLLOWS
from fraginv.stock.rules.happenings import FragState, Happening, Kind
from tests.conftest import People
from tests.stock.lives import DEEDS, House, Pick, pieces_told
from tests.stock.test_rules_events import MAY

STEPS = st.lists(
    st.tuples(
        st.sampled_from(sorted(DEEDS)),
        st.integers(0, 7),
        st.integers(0, 7),
        st.integers(1, 4),
        st.sampled_from([1, 70, 60 * 24 * 4]),
    ),
    min_size=8,
    max_size=20,
)
Step = tuple[str, int, int, int, int]


def live(house: House, steps: list[Step]) -> Counter[str]:
    """Do one thing after another, each in a transaction of its own. Count what was done."""
    done: Counter[str] = Counter()
    moment = clock.now()
    if not Frag.objects.exists():
        steps = [("cut a lot", 0, 0, 4, 1), *steps]
    for name, one, other, number, minutes in steps:
        moment += timedelta(minutes=minutes)
        with clock.at(moment), suppress(FraginvError), transaction.atomic():
            DEEDS[name](Pick(house, one, other, number), house.by)
            done[name] += 1
    return done


def assert_only_what_may_follow() -> None:
    """Follow every log by the effects alone, and look at each step in the table kept by hand."""
    events = FragEvent.objects.order_by("frag_id", "seq")
    for _, log in groupby(events, key=lambda event: event.frag_id):
        state = FragState()
        for event in log:
            kind = Kind(event.kind)
            assert kind in MAY[state.stage], f"{kind} at {state.stage}"
            assert state.stage in FOLLOWS[kind]
            state = EFFECTS[kind](state, Happening(kind, event.day, event.body))


def assert_standing_where_they_can() -> None:
    """Look at each frag that stands somewhere: rack in use, its own water, a hole of the grid."""
    there = Frag.objects.filter(pieces__gte=1, rack__isnull=False)
    assert not there.filter(rack__withdrawn_on__isnull=False).exists()
    assert not there.exclude(rack__trough__system__quarantine=F("quarantined")).exists()
    outside = Q(hole_row__gt=F("rack__rows")) | Q(hole_column__gt=F("rack__columns"))
    assert not there.filter(outside).exists()


def assert_whole() -> None:
    """Compare rows, events, holds, losses and sums, by ``verify`` and by counting anew."""
    assert [str(one) for one in stock_differences()] == []
    assert pieces_told() == (Frag.objects.aggregate(all=Sum("pieces"))["all"] or 0)
    standing = Frag.objects.filter(pieces__gte=1, hole_row__isnull=False)
    holes = standing.values_list("rack", "hole_row", "hole_column")
    assert len(set(holes)) == len(holes)
    assert_standing_where_they_can()
    assert_only_what_may_follow()


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    derandomize=True,
)
@given(steps=STEPS)
def test_random_days_in_a_house(people: People, steps: list[Step]) -> None:
    live(House(people[Role.OWNER]), steps)
    assert_whole()


@pytest.mark.parametrize("name", sorted(DEEDS))
def test_each_deed_can_be_done(people: People, name: str) -> None:
    """Every deed succeeds at least once in some life, so that none is only ever refused."""
    house, before = House(people[Role.OWNER]), READY_FOR.get(name, [])
    live(house, before)
    picks = product((0, 1), (0, 1, 2), (1, 2, 3))
    assert any(live(house, [(name, *pick, 1)])[name] for pick in picks)
    assert_whole()


GRADE: list[Step] = [("grade", 0, 0, 1, 1)]
HELD: list[Step] = [*GRADE, ("hold", 0, 0, 2, 1)]
SINGLES: list[Step] = [("cut", 1, 0, 2, 1)]
READY_FOR: dict[str, list[Step]] = {
    "not ready": GRADE,
    "not yet": [("healed", 0, 0, 1, 1)],
    "hold": GRADE,
    "sell": GRADE,
    "let go": HELD,
    "sell held": HELD,
    "back": [*GRADE, ("sell", 0, 0, 2, 1)],
    "undo": [("lose", 0, 0, 2, 1)],
    "recut": SINGLES,
    "join": SINGLES,
    "release": [("apart", 0, 0, 1, 1)],
    "empty a rack": [("place", 0, 0, 1, 1), ("place", 0, 0, 3, 1)],
    "colony back": [("colony dies", 0, 0, 1, 1)],
}
