"""Problems of a table, as they are shown and handed on."""

import json

import pytest

from fraginv.base.errors import FraginvError
from fraginv.base.rules.problems import SHOWN_AT_MOST, Problem, RawRow, TableErrors, Unfit


@pytest.mark.parametrize(
    ("problem", "text"),
    [
        (Problem(3, "day", "too late."), "line 3, day: too late."),
        (Problem(3, "", "too long."), "line 3: too long."),
        (Problem(0, "", "the file is empty."), "the file is empty."),
    ],
)
def test_a_problem_says_where_it_stands(problem: Problem, text: str) -> None:
    assert str(problem) == text


def test_errors_list_every_problem_by_line() -> None:
    error = TableErrors(
        [Problem(9, "day", "b."), Problem(2, "day", "a."), Problem(9, "kind", "c.")]
    )
    assert error.message.splitlines() == [
        "The table has 3 problems; nothing was loaded.",
        "line 2, day: a.",
        "line 9, day: b.",
        "line 9, kind: c.",
    ]
    assert (error.code, error.status, error.count) == ("table", 400, 3)
    assert isinstance(error, FraginvError)


def test_errors_can_be_printed_as_json() -> None:
    error = TableErrors([Problem(2, "day", "a.")])
    assert json.loads(json.dumps(error.data)) == {
        "count": 1,
        "problems": [{"line": 2, "column": "day", "reason": "a."}],
    }
    assert error.message.startswith("The table has one problem; nothing was loaded.")


def test_errors_show_only_so_many_but_keep_and_count_them_all() -> None:
    error = TableErrors([Problem(line, "day", "a.") for line in range(2, 1002)])
    shown = error.message.splitlines()
    assert len(shown) == SHOWN_AT_MOST + 2
    assert shown[0] == "The table has 1000 problems; nothing was loaded."
    assert shown[-1] == f"and {1000 - SHOWN_AT_MOST} more"
    assert len(error.lines()) == len(error.problems) == error.data["count"] == 1000


def test_a_row_of_spaces_is_blank() -> None:
    assert RawRow(4, []).is_blank()
    assert RawRow(4, ["", "  "]).is_blank()
    assert not RawRow(4, ["", "0"]).is_blank()
    assert not RawRow(4, [Unfit("a formula")]).is_blank()
