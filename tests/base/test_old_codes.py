"""Old codes are compared without case, blanks and separators."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.rules.old_codes import LONGEST, fold_old_code


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("a-17 b", "A17B"),
        (" A.17/B ", "A17B"),
        ("A_17\u2013B", "A17B"),
        ("\uff21\uff11\uff17", "A17"),  # as a phone with a wide keyboard types it
        ("no. 5", "NO5"),
        ("stra\u00dfe 2", "STRASSE2"),
        ("--", ""),
        ("", ""),
        ("7" * 60, "7" * LONGEST),
    ],
)
def test_folding(text: str, folded: str) -> None:
    assert fold_old_code(text) == folded


@given(st.text(max_size=60))
def test_folding_twice_is_folding_once(text: str) -> None:
    once = fold_old_code(text)
    assert fold_old_code(once) == once
    assert fold_old_code(f" {text}-") == once
