"""``month`` on the command line."""

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.conftest import People
from tests.reports.rows import bill, november
from tests.trade.rows import Shop, open_shop


@pytest.fixture(autouse=True)
def shop(people: People) -> Iterator[Shop]:
    with november():
        made = open_shop(people)
        made.sell(made.priced_lot(30, price=1_000), 8)
        bill(made, 64_500)
        yield made


def run(*arguments: str) -> str:
    """Run the command and return what it prints."""
    out = io.StringIO()
    call_command("month", *arguments, stdout=out)
    return out.getvalue()


def test_it_says_the_month_in_lines() -> None:
    told = run("2026-11")
    assert told.startswith("November 2026, sales basis\n")
    assert "The frags carried 12.4% of the display's running costs." in told
    assert "  Result: -$565.00" in told
    assert "  Ready at the end: 22 pieces" in told


def test_a_month_without_costs_is_said_in_words() -> None:
    assert "No running costs are entered" in run("2026-10")


def test_json_is_one_document_with_the_keys_of_the_design() -> None:
    document: dict[str, Any] = json.loads(run("2026-11", "--json"))
    assert (document["month"], document["currency"], document["basis"]) == (
        "2026-11",
        "USD",
        "sales",
    )
    assert document["share_carried"] == "0.1240"
    assert document["income"]["net"] == 8_000
    assert json.loads(run("2026-10", "--json"))["share_carried"] is None
    assert json.loads(run("2026-11", "--basis", "cash", "--json"))["income"]["net"] == 0


@pytest.mark.parametrize(
    ("ending", "start"), [(".pdf", b"%PDF-"), (".csv", b"month,basis"), (".xlsx", b"PK")]
)
def test_out_writes_the_file_that_its_ending_names(
    tmp_path: Path, ending: str, start: bytes
) -> None:
    file = tmp_path / f"month{ending}"
    assert f"The month is in {file}." in run("2026-11", "--out", str(file))
    assert file.read_bytes().removeprefix(b"\xef\xbb\xbf").startswith(start)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        pytest.param(["2026-13"], "There is no month 2026-13", id="no month"),
        pytest.param(["2026-12"], "has not come yet", id="to come"),
        pytest.param(["soon"], "write it as in 2026-11", id="a word"),
        pytest.param(["2026-11", "--basis", "accrual"], "no basis of a month", id="basis"),
        pytest.param(["2026-11", "--out", "month.doc"], "ends in .pdf, .csv, .xlsx", id="ending"),
        pytest.param(["2026-13", "--out", "month.pdf"], "There is no month", id="file and month"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_written(
    tmp_path: Path, arguments: list[str], words: str
) -> None:
    placed = [str(tmp_path / word) if word.startswith("month.") else word for word in arguments]
    with pytest.raises(CommandError, match=words) as error:
        run(*placed)
    assert error.value.returncode == 1
    assert list(tmp_path.iterdir()) == []
