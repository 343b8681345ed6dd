"""The mark on an event by which a later change shows."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from hashlib import blake2b
from typing import Any

import pytest

from fraginv.stock.rules.digest import Written, digest_of

AT = datetime(2026, 11, 25, 15, 0, 0, 123456, tzinfo=UTC)
EVENT = Written(
    frag=4, seq=2, kind="graded", at=AT, recorded_at=AT, day=date(2026, 11, 25),
    month=202611, by=3, body={"size": "M", "heads": 4},
)  # fmt: skip


def test_digest_is_blake2b_over_what_was_written() -> None:
    # BLAKE2b is RFC 7693; the reference is Python's own hashlib over the text below.
    text = (
        '[4,2,"graded","2026-11-25T15:00:00.123456+00:00","2026-11-25T15:00:00.123456+00:00",'
        '"2026-11-25",202611,3,{"heads":4,"size":"M"}]'
    )
    assert digest_of(EVENT) == blake2b(text.encode(), digest_size=16).hexdigest()


@pytest.mark.parametrize(
    "change",
    [
        {"frag": 5},
        {"seq": 3},
        {"kind": "lost"},
        {"at": AT + timedelta(microseconds=1)},
        {"recorded_at": AT + timedelta(seconds=1)},
        {"day": date(2026, 11, 24)},
        {"month": 202610},
        {"by": 4},
        {"body": {"size": "L", "heads": 4}},
        {"body": {"size": "M", "heads": "4"}},
    ],
    ids=str,
)
def test_any_change_shows(change: dict[str, Any]) -> None:
    assert digest_of(replace(EVENT, **change)) != digest_of(EVENT)


def test_zone_and_order_of_keys_do_not_matter() -> None:
    east = AT.astimezone(timezone(timedelta(hours=5)))
    same = replace(EVENT, at=east, body={"heads": 4, "size": "M"})
    assert digest_of(same) == digest_of(EVENT)
