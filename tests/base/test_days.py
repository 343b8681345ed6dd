"""Business days and months, across time zones and changes of the clock."""

from calendar import monthrange
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.base.rules.days import (
    business_day,
    month_bounds,
    month_of,
    months_before,
    parse_day,
    parse_month,
    show_month,
    time_zone,
)

any_day = st.dates(date(1990, 1, 1), date(2090, 12, 31))
any_month = any_day.map(month_of)


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


# Offsets and changes of the clock: tz database; the US rule (second Sunday in March, first
# in November) is 15 U.S.C. 260a, the offsets from memory.
@pytest.mark.parametrize(
    ("at", "zone", "day"),
    [
        ("2026-11-25T04:59:59+00:00", "America/New_York", "2026-11-24"),
        ("2026-11-25T05:00:00+00:00", "America/New_York", "2026-11-25"),
        ("2026-07-25T03:59:59+00:00", "America/New_York", "2026-07-24"),
        ("2026-07-25T04:00:00+00:00", "America/New_York", "2026-07-25"),
        # The night the clock goes forward: 7 March ends at 05:00, 8 March at 04:00 UTC.
        ("2026-03-08T04:59:59+00:00", "America/New_York", "2026-03-07"),
        ("2026-03-09T03:59:59+00:00", "America/New_York", "2026-03-08"),
        ("2026-03-09T04:00:00+00:00", "America/New_York", "2026-03-09"),
        # The night it goes back: 31 October ends at 04:00, 1 November at 05:00 UTC.
        ("2026-11-01T03:59:59+00:00", "America/New_York", "2026-10-31"),
        ("2026-11-02T04:59:59+00:00", "America/New_York", "2026-11-01"),
        ("2026-11-02T05:00:00+00:00", "America/New_York", "2026-11-02"),
        ("2026-12-31T11:00:00+00:00", "Pacific/Auckland", "2027-01-01"),
        ("2026-12-31T11:00:00+00:00", "Pacific/Honolulu", "2026-12-31"),
        ("2026-11-25T18:29:59+00:00", "Asia/Kolkata", "2026-11-25"),
        ("2026-11-25T18:30:00+00:00", "Asia/Kolkata", "2026-11-26"),
        ("2026-11-25T23:30:00-05:00", "UTC", "2026-11-26"),
    ],
)
def test_business_day(at: str, zone: str, day: str) -> None:
    assert business_day(moment(at), zone) == date.fromisoformat(day)


def test_the_day_the_clock_changes_has_another_length() -> None:
    start = datetime(2026, 1, 1, tzinfo=UTC)
    hours = [business_day(start + timedelta(hours=h), "America/New_York") for h in range(365 * 24)]
    assert hours.count(date(2026, 3, 7)) == 24
    assert hours.count(date(2026, 3, 8)) == 23
    assert hours.count(date(2026, 11, 1)) == 25


def test_business_day_refuses_a_moment_without_an_offset() -> None:
    with pytest.raises(ValueError, match="needs an offset"):
        business_day(datetime(2026, 11, 25, 12), "UTC")  # noqa: DTZ001 - that is the point


@pytest.mark.parametrize("zone", ["Reef/Nowhere", "", "America", "../etc/passwd", "/etc/passwd"])
def test_an_unknown_zone_is_refused(zone: str) -> None:
    with pytest.raises(InputError, match="is not a time zone; write one such as America/New_York"):
        time_zone(zone)


def test_parse_day() -> None:
    assert parse_day(" 2026-11-25 ") == date(2026, 11, 25)
    assert parse_day("2028-02-29") == date(2028, 2, 29)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "Nothing is not a day; write it as in 2026-11-25."),
        ("25.11.2026", "25.11.2026 is not a day; write it as in 2026-11-25."),
        ("11/25/2026", "11/25/2026 is not a day; write it as in 2026-11-25."),
        ("20261125", "20261125 is not a day; write it as in 2026-11-25."),
        ("2026-W48-3", "2026-W48-3 is not a day; write it as in 2026-11-25."),
        ("2026-11-25T10:00", "2026-11-25T10:00 is not a day; write it as in 2026-11-25."),
        ("2026-1-5", "2026-1-5 is not a day; write it as in 2026-11-25."),
        ("2026-02-29", "There is no day 2026-02-29 in the calendar."),
        ("2026-13-01", "There is no day 2026-13-01 in the calendar."),
        ("0000-01-01", "There is no day 0000-01-01 in the calendar."),
    ],
)
def test_parse_day_says_what_is_wrong(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_day(text)
    assert caught.value.message == message


@given(any_day)
def test_a_day_is_read_back(day: date) -> None:
    assert parse_day(day.isoformat()) == day


def test_month_as_a_number() -> None:
    assert month_of(date(2026, 11, 25)) == 202611
    assert parse_month("2026-11") == 202611
    assert show_month(202611) == "2026-11"
    assert show_month(202601) == "2026-01"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("2026-13", "There is no month 2026-13; months run from 01 to 12, as in 2026-11."),
        ("2026-00", "There is no month 2026-00; months run from 01 to 12, as in 2026-11."),
        ("0000-01", "There is no month 0000-01; months run from 01 to 12, as in 2026-11."),
        ("2026-1", "2026-1 is not a month; write it as in 2026-11."),
        ("202611", "202611 is not a month; write it as in 2026-11."),
        ("11-2026", "11-2026 is not a month; write it as in 2026-11."),
        ("November", "November is not a month; write it as in 2026-11."),
        ("", "Nothing is not a month; write it as in 2026-11."),
    ],
)
def test_parse_month_says_what_is_wrong(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_month(text)
    assert caught.value.message == message


@given(any_month)
def test_a_month_is_read_back(month: int) -> None:
    assert parse_month(show_month(month)) == month


@given(any_month)
def test_month_bounds_hold_the_whole_month(month: int) -> None:
    first, last = month_bounds(month)
    assert month_of(first) == month_of(last) == month
    assert month_of(first - timedelta(days=1)) == months_before(month, 1)
    assert month_of(last + timedelta(days=1)) == months_before(month, -1)
    assert (last - first).days + 1 == monthrange(month // 100, month % 100)[1]


def test_month_bounds_of_a_leap_year() -> None:
    assert month_bounds(202802) == (date(2028, 2, 1), date(2028, 2, 29))
    assert month_bounds(202702) == (date(2027, 2, 1), date(2027, 2, 28))


@pytest.mark.parametrize(
    ("month", "n", "earlier"),
    [
        (202611, 0, 202611),
        (202611, 10, 202601),
        (202611, 11, 202512),
        (202611, 14, 202509),
        (202601, 1, 202512),
        (202612, -1, 202701),
    ],
)
def test_months_before(month: int, n: int, earlier: int) -> None:
    assert months_before(month, n) == earlier


@given(any_month, st.integers(-500, 500))
def test_months_before_and_after_meet_again(month: int, n: int) -> None:
    assert months_before(months_before(month, n), -n) == month


def test_months_before_stops_where_the_calendar_does() -> None:
    with pytest.raises(InputError, match=r"no month 12 before 0001-05 in the calendar"):
        months_before(105, 12)
