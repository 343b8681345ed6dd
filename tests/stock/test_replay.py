"""Whatever is done in whatever order: events and row agree, and no piece appears or vanishes."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fraginv.base import clock
from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import aside, claims, grading, losses
from fraginv.stock.models import Claim, Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import make_lot

PIECES = 8
Do = Callable[[int, int, Person], object]


def latest(frag: int, kind: str) -> int:
    """Return the id of the latest claim of a kind, or one that is none."""
    found = Claim.objects.filter(frag=frag, kind=kind).order_by("-pk").first()
    return found.pk if found else 0


def sell_held(frag: int, count: int, by: Person) -> object:
    hold = latest(frag, "named")
    return claims.take_for_sale(frag, pieces=count, by=by, hold_id=hold)


def take_back(frag: int, count: int, by: Person, *, alive: bool) -> object:
    sale = latest(frag, "sale")
    return sale and claims.take_back(sale, pieces=count, alive=alive, by=by)


def hold(frag: int, count: int, by: Person) -> object:
    return claims.hold_frag(frag, pieces=count, kind=ClaimKind.NAMED, by=by, for_name="A visitor")


DOINGS: dict[str, Do] = {
    "grade": lambda frag, n, by: grading.grade_frags([frag], size="M", by=by),
    "healed": lambda frag, n, by: grading.mark_healed([frag], by=by),
    "apart": lambda frag, n, by: aside.set_apart([frag], by=by, reason="spots"),
    "release": lambda frag, n, by: aside.release_frags([frag], by=by),
    "keep": lambda frag, n, by: aside.keep_back([frag], kept=n % 2 == 0, by=by),
    "lose": lambda frag, n, by: losses.record_loss(frag, pieces=n, cause="pest", by=by),
    "hold": hold,
    "let go": lambda frag, n, by: claims.let_go(latest(frag, "named"), by=by),
    "sell": lambda frag, n, by: claims.take_for_sale(frag, pieces=n, by=by),
    "sell held": sell_held,
    "back alive": lambda frag, n, by: take_back(frag, n, by, alive=True),
    "back dead": lambda frag, n, by: take_back(frag, n, by, alive=False),
}
STEPS = st.lists(
    st.tuples(st.sampled_from(sorted(DOINGS)), st.integers(1, PIECES), st.booleans()), max_size=14
)


def pieces_told(frag: Frag) -> int:
    """Count living pieces from the bodies of the events, without the rules."""
    total = 0
    for kind, body in FragEvent.objects.filter(frag=frag).values_list("kind", "body"):
        count: Any = body.get("pieces", 0)
        if kind == "cut" or (kind == "returned" and body["alive"]):
            total += count
        if kind in {"sold", "lost"}:
            total -= count
    return total


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)
@given(steps=STEPS)
def test_random_days_in_a_lots_life(people: People, steps: list[tuple[str, int, bool]]) -> None:
    by = people[Role.OWNER]
    lot = make_lot(by, PIECES, ready=True)
    moment = clock.now()
    for name, count, is_late in steps:
        moment += timedelta(days=4) if is_late else timedelta(minutes=1)
        with clock.at(moment):
            before = FragEvent.objects.count()
            try:
                DOINGS[name](lot.pk, count, by)
            except FraginvError:
                assert FragEvent.objects.count() == before, f"{name} was refused but left a trace"
    now = Frag.objects.get(pk=lot.pk)
    assert 0 <= now.free <= now.pieces == pieces_told(now)
    assert [str(one) for one in stock_differences()] == []
