"""How long ago, and what a visitor reads of a frag's state."""

from datetime import date

from fraginv.stock.rules.stages import LIVING, Stage, Standing, why_not_for_sale

DAYS_SHOWN, WEEKS_SHOWN, MONTHS_SHOWN = 14, 70, 730


def age_words(since: date, *, today: date) -> str:
    """Say an age in days, weeks, months or years, whole ones only.

    A month counts as 30.44 days, a year as 365.25.
    """
    days = max((today - since).days, 0)
    if days < DAYS_SHOWN:
        return of(days, "day")
    if days < WEEKS_SHOWN:
        return of(days // 7, "week")
    if days < MONTHS_SHOWN:
        return of(int(days / 30.44), "month")
    return of(int(days / 365.25), "year")


def of(count: int, unit: str) -> str:
    """Say a number of something."""
    return f"{count} {unit}" if count == 1 else f"{count} {unit}s"


def availability(standing: Standing, *, free: int) -> str:
    """Say to a visitor in a few words whether a frag can be had.

    Args: ``free`` pieces that nobody has at this moment.
    """
    if standing.stage == Stage.SOLD:
        return "Sold"
    if standing.stage not in LIVING:
        return "No longer here"
    if any((standing.barred, standing.stopped, standing.apart, standing.quarantined)):
        return "Not for sale"
    if standing.kept_back:
        return "Not for sale"
    if why_not_for_sale(standing):
        return "Still growing, not for sale yet"
    return "Available" if free else "Put aside for somebody"


def is_offered(standing: Standing) -> bool:
    """Tell whether a frag is one of those whose price a visitor may read."""
    return not why_not_for_sale(standing)
