"""What time it is, and what time it is said to be."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from fraginv.base import clock


def test_now_is_the_present_moment_in_utc() -> None:
    before = datetime.now(UTC)
    told = clock.now()
    assert before <= told <= datetime.now(UTC)
    assert told.tzinfo is UTC


def test_a_frozen_moment_is_told_in_utc_and_only_inside() -> None:
    noon = datetime(2026, 7, 1, 12, tzinfo=ZoneInfo("America/New_York"))
    with clock.at(noon):
        # Daylight saving time there: four hours behind.
        assert clock.now() == datetime(2026, 7, 1, 16, tzinfo=UTC)
        assert clock.now().tzinfo is UTC
        with clock.at(noon + timedelta(days=1)):
            assert clock.now().day == 2
        assert clock.now().day == 1
    assert clock.now() > datetime(2026, 7, 2, tzinfo=UTC)


def test_a_failure_inside_lets_the_clock_go_on() -> None:
    with pytest.raises(RuntimeError), clock.at(datetime(2020, 1, 1, tzinfo=UTC)):
        raise RuntimeError("inside")
    assert clock.now().year > 2020
