"""When what recurs is due: days of local zones, and pauses that grow."""

from datetime import UTC, datetime, timedelta

import pytest

from fraginv.base.rules.timetable import Daily, Every, is_too_far, pause_before

NEW_YORK = "America/New_York"


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


# The IANA time zone database: New York leaves standard time (UTC-5) for daylight time (UTC-4) on
# March 8, 2026 at 2:00 and comes back on November 1, 2026 at 2:00.
@pytest.mark.parametrize(
    ("at", "zone", "moment", "due"),
    [
        ("03:10", NEW_YORK, "2026-11-25 08:09", "2026-11-25 08:10"),
        ("03:10", NEW_YORK, "2026-11-25 08:10", "2026-11-26 08:10"),
        ("03:10", NEW_YORK, "2026-11-26 04:59", "2026-11-26 08:10"),
        ("02:30", NEW_YORK, "2026-03-07 12:00", "2026-03-08 07:30"),
        ("02:30", NEW_YORK, "2026-03-08 07:30", "2026-03-09 06:30"),
        ("01:30", NEW_YORK, "2026-10-31 12:00", "2026-11-01 05:30"),
        ("01:30", NEW_YORK, "2026-11-01 05:30", "2026-11-02 06:30"),
        ("00:00", "Pacific/Auckland", "2026-11-25 10:59", "2026-11-25 11:00"),
        ("23:59", "Pacific/Kiritimati", "2026-11-25 09:58", "2026-11-25 09:59"),
        ("03:10", "UTC", "2026-12-31 12:00", "2027-01-01 03:10"),
    ],
    ids=[
        "a minute before", "at that moment", "late in the evening before", "a time that is not",
        "the day after it", "a time that is twice", "once all the same", "ahead of UTC",
        "far ahead of UTC", "over the year",
    ],
)  # fmt: skip
def test_daily(at: str, zone: str, moment: str, due: str) -> None:
    assert Daily(at).after(utc(moment), zone=zone) == utc(due)


def test_every_day_of_a_year_has_one_turn() -> None:
    moment, days = utc("2026-01-01 00:00"), []
    while moment < utc("2027-01-01 00:00"):
        moment = Daily("02:30").after(moment, zone=NEW_YORK)
        days.append((moment - timedelta(hours=4, minutes=30)).date())
    assert len(days) == len(set(days))
    gaps = {later - earlier for earlier, later in zip(days, days[1:], strict=False)}
    assert gaps == {timedelta(days=1)}


def test_every_few_minutes() -> None:
    assert Every(5).after(utc("2026-11-25 08:00"), zone=NEW_YORK) == utc("2026-11-25 08:05")


@pytest.mark.parametrize(
    ("ahead", "too_far"),
    [(timedelta(hours=24), False), (timedelta(hours=25), False), (timedelta(hours=27), True)],
)
def test_a_turn_too_far_ahead(ahead: timedelta, too_far: bool) -> None:
    now = utc("2026-11-25 08:00")
    assert is_too_far(now + ahead, when=Daily("03:10"), now=now) is too_far


def test_pauses_grow_and_end() -> None:
    minutes = [pause_before(attempt) // timedelta(minutes=1) for attempt in range(1, 8)]
    assert minutes == [1, 1, 5, 25, 125, 360, 360]
