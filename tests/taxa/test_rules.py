"""The ten groups."""

import pytest

from fraginv.base.errors import InputError
from fraginv.taxa.rules import GROUP_NAMES, GROUPS, fold_name, normalise_group, split_names


def test_there_are_ten_groups_each_with_a_name() -> None:
    assert len(GROUPS) == len(set(GROUPS)) == 10
    assert tuple(GROUP_NAMES) == GROUPS


@pytest.mark.parametrize(
    ("typed", "group"),
    [
        ("SPS", "SPS"),
        (" lps ", "LPS"),
        ("Zoanthids", "zoanthid"),
        ("Soft coral", "soft"),
        ("large-polyp stony (LPS)", "LPS"),
    ],
)
def test_a_group_is_read_as_people_write_it(typed: str, group: str) -> None:
    assert normalise_group(typed) == group


@pytest.mark.parametrize("typed", ["", "stony", "SPX", "none"])
def test_an_unknown_group_is_refused_with_the_ten(typed: str) -> None:
    with pytest.raises(InputError, match="Use one of: SPS, LPS, soft, zoanthid, mushroom"):
        normalise_group(typed)


def test_names_are_compared_without_capitals_and_extra_spaces() -> None:
    assert fold_name("  Kenya   TREE ") == "kenya tree"
    assert split_names("one; two ;; three") == ["one", "two", "three"]
