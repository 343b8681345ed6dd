"""Homes of earlier versions come back, are brought up to date, agree, and open every page."""

import json
from pathlib import Path

import pytest

from tests.empty import home_under_test
from tests.house.tree import ROOT

KEPT = sorted((ROOT / "fixtures" / "homes").glob("*.zip"))
MOST_BYTES = 600_000
OPEN, ELSEWHERE, NOT_THERE = 200, 302, 404


@pytest.mark.parametrize("file", KEPT, ids=lambda file: file.stem)
@pytest.mark.usefixtures("db")
def test_a_kept_home_is_restored_migrated_and_opened(file: Path, tmp_path: Path) -> None:
    with home_under_test(tmp_path / "home") as line:
        restored = line.told("restore", file)
        assert restored["differences"] == restored["problems"] == restored["left_out"] == []
        assert restored["rows"] > 500
        pages = json.loads(line.python("from tests.homes.pages import open_all; print(open_all())"))
    wrong = [
        f"{page} {path}: {status} {location}"
        for page, path, status, is_known, location in pages
        if status not in ({OPEN, ELSEWHERE} if is_known else {OPEN, ELSEWHERE, NOT_THERE})
        and page != "upkeep:health"  # nobody works there, and it says so
    ]
    assert not wrong, "\n".join(wrong)
    assert sum(status == OPEN for _, _, status, _, _ in pages) > len(pages) * 0.7


def test_kept_homes_are_there_and_small() -> None:
    assert "A" in [file.stem for file in KEPT]
    assert [file.name for file in KEPT if file.stat().st_size > MOST_BYTES] == []
