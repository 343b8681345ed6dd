"""``cut`` on the command line."""

import json
from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Colony, Cutting, Frag
from tests.conftest import People
from tests.factories import make_colony


@pytest.fixture
def colony(people: People) -> Colony:
    return make_colony(people[Role.GROWER], rest_days=30, acquired_on=date(2025, 1, 1))


def run(*arguments: object) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("cut", *map(str, arguments), stdout=out)
    return out.getvalue()


def test_it_prints_the_codes_of_what_was_cut(colony: Colony, people: People) -> None:
    told = run("--colony", show_code(colony.code_id), "--pieces", 12, "--lost", 1)
    cutting = Cutting.objects.get()
    assert [read_code(line) for line in told.splitlines()] == list(
        Frag.objects.order_by("pk").values_list("code_id", flat=True)
    )
    assert (cutting.pieces, cutting.lost, cutting.by) == (12, 1, people[Role.OWNER])


def test_json_is_one_document(colony: Colony) -> None:
    run_of_labels = issue_blank_run(3)
    told = json.loads(
        run(
            "--colony", colony.code_id, "--pieces", 30, "--lot", "--on", "tile",
            "--codes", run_of_labels[1].code, "--day", "2026-01-05", "--json",
        )
    )  # fmt: skip
    assert told == {
        "cutting": Cutting.objects.get().pk,
        "colony": colony.code_id,
        "day": "2026-01-05",
        "pieces": 30,
        "lost": 0,
        "lot": True,
        "on": "tile",
        "codes": [run_of_labels[1].code],
    }


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--pieces", "0"], "0 living pieces"),
        (["--pieces", "-5"], "-5 living pieces"),
        (["--pieces", "10000"], "10,000 living pieces"),
        (["--pieces", "3", "--lost", "-1"], "-1 lost at the bench"),
        (["--pieces", "3", "--day", "2999-01-01"], "2999-01-01 has not come yet"),
        (["--pieces", "3", "--day", "tomorrow"], "tomorrow"),
        (["--pieces", "3", "--on", "rock"], "frags stand on one of"),
        (["--pieces", "3", "--codes", "7K3-Q9F-X"], "A character in 7K3-Q9F-X is wrong"),
        (["--pieces", "3", "--colony", "7K3-Q9F-X"], "A character in 7K3-Q9F-X is wrong"),
        (["--pieces", "3", "--colony", "7K3-Q9F-N"], "7K3-Q9F-N is not a colony"),
        (["--pieces", "three"], "invalid int value: 'three'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_bad_input_is_said_and_writes_nothing(
    colony: Colony, arguments: list[str], said: str
) -> None:
    with pytest.raises(CommandError, match=said) as told:
        run("--colony", colony.code_id, *arguments)
    assert told.value.returncode == 1
    assert not Frag.objects.exists()


def test_colony_under_rest(colony: Colony) -> None:
    run("--colony", colony.code_id, "--pieces", 1, "--day", "2026-01-05")
    with pytest.raises(CommandError, match="rests until 2026-02-04"):
        run("--colony", colony.code_id, "--pieces", 1, "--day", "2026-01-20")
    run(
        "--colony", colony.code_id, "--pieces", 1, "--day", "2026-01-20",
        "--despite-rest", "It broke",
    )  # fmt: skip
    assert Cutting.objects.count() == 2


@pytest.mark.usefixtures("organisation")
def test_nobody_to_cut_in_whose_name() -> None:
    with pytest.raises(CommandError, match="There is no owner yet"):
        run("--colony", "7K3-Q9F-N", "--pieces", 1)
