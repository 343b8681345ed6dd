"""Stepping from month to month."""

import pytest

from fraginv.base.rules.month_steps import steps_from


@pytest.mark.parametrize(
    ("month", "before", "after"),
    [
        (202611, "2026-10", ""),
        (202612, "2026-11", ""),
        (202601, "2025-12", "2026-02"),
        (202512, "2025-11", "2026-01"),
        (101, "", "0001-02"),
        (999912, "9999-11", ""),
    ],
)
def test_steps(month: int, before: str, after: str) -> None:
    steps = steps_from(month, present=202611)
    assert (steps.month, steps.before, steps.after) == (month, before, after)
    assert steps.text == f"{month // 100:04d}-{month % 100:02d}"
