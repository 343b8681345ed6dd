"""``forecast [--check]``: what will be ready by when, and how well forecasts held before."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.base.show import show_day
from fraginv.growth.queries.forecast_checks import Check, check_forecasts, coming
from fraginv.growth.queries.forecasts import Counted
from fraginv.growth.rules.checking import Score
from fraginv.growth.rules.said import say_pace


class Command(PlainCommand):
    """Say what will be ready by when, or hold forecasts against what came of them."""

    help = "Says what will be ready by when, or how well forecasts held before."

    def add_options(self, parser: CommandParser) -> None:
        """Declare that forecasts are to be held against the house's own history."""
        parser.add_argument(
            "--check",
            action="store_true",
            help="hold what would have been forecast half-way against what became ready",
        )

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Count ahead, or back."""
        with organisation_kept():
            if options["check"]:
                found = check_forecasts(today=today())
                return Answer(lines=list(check_lines(found)), data=check_data(found))
            counts = coming(today=today())
            return Answer(lines=list(coming_lines(counts)), data=coming_data(counts))


def coming_lines(found: Sequence[Counted]) -> Iterator[str]:
    """Yield how many of each variety will be ready by when."""
    if not found:
        yield "Nothing heals or grows, so nothing will be ready."
    with organisation_kept() as house:
        for one in found:
            usual = say_pace(one.pace, group=one.variety.group)
            pieces = f"{one.pieces} piece{'' if one.pieces == 1 else 's'} not ready yet"
            yield f"{one.variety}: {pieces}; usually ready after {usual.weeks}"
            for count in one.counts:
                span = f"{count.least} to {count.most} with 8 chances in 10"
                yield f"  by {show_day(count.day, house)}: {count.about}, {span}"


def coming_data(found: Sequence[Counted]) -> dict[str, Any]:
    """Return the same as one document."""
    return {
        "varieties": [
            {
                "variety": one.variety.name,
                "group": one.variety.group,
                "not_ready": one.pieces,
                "by": [
                    {
                        "day": count.day.isoformat(),
                        "expected": round(count.expected, 2),
                        "least": count.least,
                        "most": count.most,
                    }
                    for count in one.counts
                ],
            }
            for one in found
        ]
    }


def check_lines(found: Check) -> Iterator[str]:
    """Yield how well forecasts held, in all, by group and by variety."""
    if found.whole.inside is None:
        yield "No frag that was cut here became ready yet, so nothing can be checked."
        return
    yield "Forecasts made half-way between cutting and ready, from what was known before:"
    yield score_line("All", found.whole)
    for group, one in found.by_group:
        yield f"  {score_line(group, one)}"
    for variety, one in found.by_variety:
        yield f"    {score_line(variety.name, one)}"


def score_line(name: str, found: Score) -> str:
    """Say how well forecasts of something held."""
    frags = f"{found.frags} frag{'' if found.frags == 1 else 's'}"
    return (
        f"{name}: {100 * (found.inside or 0):.0f} % of {frags} became ready inside the interval "
        f"of 80 %; the middle was off by {found.error_days:.0f} days ({found.error_percent:.0f} %)"
    )


def check_data(found: Check) -> dict[str, Any]:
    """Return how well forecasts held as one document; shares are fractions."""
    return {
        **asdict(found.whole),
        "by_group": {group: asdict(one) for group, one in found.by_group},
        "by_variety": {variety.name: asdict(one) for variety, one in found.by_variety},
    }
