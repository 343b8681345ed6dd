"""Counting how fast varieties become ready and grow."""

from fraginv.base.queries.organisation import today
from fraginv.base.transactions import one_transaction
from fraginv.growth.models import VarietyPace
from fraginv.growth.queries.histories import histories
from fraginv.growth.rules.paces import Pace, paces_of, tell

COLUMNS = [
    *("counted_on", "became_ready", "log_days", "log_days_sd", "measured", "rate", "rate_sd"),
    *("ready_log_area", "ready_log_area_sd", "graded_measured", "survival"),
]


@one_transaction
def count_paces() -> int:
    """Count the pace of every variety anew from the house's own history.

    One variety after the other is read, and little is kept of each. It may be run twice.
    Returns: how many varieties.
    Queries: 5, and 1 more for each 500 varieties; their rows are read in portions.
    """
    day = today()
    paces = paces_of([tell(one, day=day) for one in histories(today=day)])
    VarietyPace.objects.bulk_create(
        [
            VarietyPace(variety_id=variety, counted_on=day, **columns(pace))
            for variety, pace in sorted(paces.items())
        ],
        update_conflicts=True,
        unique_fields=["variety"],
        update_fields=COLUMNS,
        batch_size=500,
    )
    return len(paces)


def columns(pace: Pace) -> dict[str, float | None]:
    """Return a pace as it is kept; a size at grading only where one was measured."""
    graded = pace.graded > 0
    return {
        "became_ready": pace.ready,
        "log_days": pace.log_days,
        "log_days_sd": pace.log_days_sd,
        "measured": pace.measured,
        "rate": pace.rate,
        "rate_sd": pace.rate_sd,
        "ready_log_area": pace.ready_log_area if graded else None,
        "ready_log_area_sd": pace.ready_log_area_sd if graded else None,
        "graded_measured": pace.graded,
        "survival": pace.survival,
    }
