"""When frags will be ready, in words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fraginv.growth.queries.forecasts import forecast_with, forecasts_of
from fraginv.growth.rules.forecast import Forecast
from fraginv.growth.rules.growth import Size
from fraginv.growth.rules.said import say_basis, say_ready
from fraginv.stock.models import Frag


@dataclass(frozen=True)
class Expected:
    """When a frag will be ready, in words and in days, and what that rests on."""

    told: Forecast
    words: str
    basis: str


def expected_with(frag: Frag, *, sizes: Sequence[Size], today: date) -> Expected | None:
    """Return when a frag will be ready by sizes that are known, None where it is or nobody knows.

    Queries: 1 where it is not ready yet.
    """
    found = forecast_with(frag, sizes=sizes, today=today)
    return None if found is None else in_words(found, frag=frag, today=today)


def expected_of(frag: Frag, *, today: date, measured: bool) -> Expected | None:
    """Return the same of a frag read with its variety; ``measured`` is whether it may have been.

    Queries: 2 where it is not ready yet, 1 where it was not measured either.
    """
    found = forecasts_of([frag], today=today, measured=measured).get(frag.pk)
    return None if found is None else in_words(found, frag=frag, today=today)


def in_words(found: Forecast, *, frag: Frag, today: date) -> Expected:
    """Put a forecast of a frag that was read with its variety into words."""
    return Expected(
        found, say_ready(found, today=today), say_basis(found, group=frag.variety.group)
    )


def ready_words(frags: Iterable[Frag], *, today: date) -> dict[int, str]:
    """Say of each frag that is not ready yet when it will be, by its id: *ready in 3–5 weeks*.

    Queries: 2, none where all are ready or gone.
    """
    found = forecasts_of(frags, today=today)
    return {pk: say_ready(told, today=today) for pk, told in found.items()}
