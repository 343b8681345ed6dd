"""Forecasts of the whole house: how many will be ready by when, and how well they held."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fraginv.growth.queries.forecasts import Counted, counted
from fraginv.growth.queries.histories import histories
from fraginv.growth.rules.checking import Checker, Outcome, Score, score
from fraginv.stock.models import Variety
from fraginv.stock.queries.varieties import varieties


@dataclass(frozen=True)
class Check:
    """How well forecasts held: in all, by group and by variety."""

    whole: Score
    by_group: Sequence[tuple[str, Score]]
    by_variety: Sequence[tuple[Variety, Score]]


def coming(*, today: date) -> list[Counted]:
    """Return of each variety that grows or heals how many pieces will be ready by when.

    Queries: 1, and 3 for each variety.
    """
    found = (counted(variety, today=today) for variety in varieties())
    return [one for one in found if one.pieces]


def check_forecasts(*, today: date) -> Check:
    """Hold what would have been forecast of each frag half-way against what came of it.

    Nothing counts but what was known before each moment; of a large house the latest cuttings.
    Queries: 5, their rows read in portions.
    """
    known = {variety.pk: variety for variety in varieties()}
    seen = list(histories(today=today))
    widths = {pk: variety.ready_mm for pk, variety in known.items()}
    outcomes = list(Checker(seen, ready_mm=widths).outcomes())
    groups: dict[str, list[Outcome]] = defaultdict(list)
    own: dict[int, list[Outcome]] = defaultdict(list)
    for one in outcomes:
        groups[one.group].append(one)
        own[one.variety].append(one)
    return Check(
        score(outcomes),
        [(group, score(found)) for group, found in sorted(groups.items())],
        [(known[pk], score(own[pk])) for pk in sorted(own, key=lambda pk: known[pk].name)],
    )
