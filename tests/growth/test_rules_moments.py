"""When a picture counts as taken."""

from datetime import UTC, datetime, timedelta

import pytest

from fraginv.growth.rules.moments import (
    DAY_TO_COME,
    DAY_TOO_EARLY,
    EARLIEST,
    NO_CAMERA,
    Taken,
    doubts_of,
    taken,
)

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (None, Taken(NOW, known=False)),
        (NOW - timedelta(days=40), Taken(NOW - timedelta(days=40), known=True)),
        (NOW, Taken(NOW, known=True)),
        (NOW + timedelta(minutes=2), Taken(NOW, known=True)),
        (NOW + timedelta(days=1), Taken(NOW, known=False, problem=DAY_TO_COME)),
        # POSIX counts from here; a camera without a battery begins here (from memory).
        (datetime(1970, 1, 1, tzinfo=UTC), Taken(NOW, known=False, problem=DAY_TOO_EARLY)),
        (datetime(2000, 1, 1, 12, tzinfo=UTC), Taken(NOW, known=False, problem=DAY_TOO_EARLY)),
        (EARLIEST, Taken(EARLIEST, known=True)),
    ],
    ids=["not said", "last month", "now", "slightly ahead", "tomorrow", "1970", "2000", "2001"],
)
def test_a_day_is_believed_where_it_can_be(said: datetime | None, expected: Taken) -> None:
    assert taken(said, now=NOW) == expected


def test_what_a_person_hears() -> None:
    assert doubts_of(NOW, optics="camera", now=NOW) == []
    assert doubts_of(NOW, optics="altered", now=NOW) == []
    assert doubts_of(None, optics="none", now=NOW) == [NO_CAMERA]
    assert doubts_of(NOW + timedelta(days=1), optics="none", now=NOW) == [DAY_TO_COME, NO_CAMERA]
