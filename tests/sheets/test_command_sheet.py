"""``sheet`` on the command line."""

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from fraginv.base import clock
from tests.base.papers import texts_of
from tests.conftest import People
from tests.factories import make_variety
from tests.sheets.rows import NOON, price, stand
from tests.trade.rows import Shop, open_shop


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with clock.at(NOON):
        made = open_shop(people)
        variety = make_variety(made.manager, name="Copper Weir", genus="Montipora")
        picked, *_ = stand(made, variety, sizes="MMM")
        price(made, 2_500, variety=variety)
        price(made, 1_600, kind=made.shop, variety=variety)
        price(made, 9_900, frag=picked)
        stand(made, make_variety(made.manager, name="Night Ferry"))
        yield made


def run(*arguments: str) -> str:
    """Run the command and return what it prints."""
    out = io.StringIO()
    call_command("sheet", *arguments, stdout=out)
    return out.getvalue()


def test_it_lists_the_retail_sheet_and_what_is_left_off(shop: Shop) -> None:
    told = run()
    assert "For sale on Nov 25, 2026, retail prices:" in told
    assert "Copper Weir, M: 2 pieces, $25.00 a piece" in told
    assert "1 piece, $99.00 a piece" in told
    assert "In all 3 pieces. Prices are without sales tax." in told
    assert "Left off, 1 piece: There is no retail price for Night Ferry, size M." in told


def test_json_is_one_document(shop: Shop) -> None:
    shop.customer("Saltmarsh Corals")
    document: dict[str, Any] = json.loads(run("--for", "saltmarsh corals", "--json"))
    assert (document["for"], document["kind"]) == ("Saltmarsh Corals", "shop")
    assert document["currency"] == "USD"
    # The frag's own price is a retail price alone; for shops it is one of the variety.
    assert [(line["pieces"], line["price"]) for line in document["lines"]] == [(3, 1_600)]
    assert [one["variety"] for one in document["missing_prices"]] == ["Night Ferry"]


def test_out_writes_the_pdf(shop: Shop, tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    assert f"The sheet is in {file}." in run("--out", str(file))
    assert "Copper Weir" in "".join(texts_of(file.read_bytes()))
    assert json.loads(run("--out", str(file), "--json"))["file"] == str(file)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        pytest.param(["--for", "Nobody"], "There is no customer 'Nobody'", id="unknown customer"),
        pytest.param(["--out", "sheet.txt"], "is no PDF", id="no PDF"),
        pytest.param(["--out", "nowhere/sheet.pdf"], "cannot be written", id="no such folder"),
    ],
)
def test_what_cannot_be_done_is_said(
    shop: Shop, tmp_path: Path, arguments: list[str], words: str
) -> None:
    placed = [str(tmp_path / word) if "sheet." in word else word for word in arguments]
    with pytest.raises(CommandError, match=words) as error:
        run(*placed)
    assert error.value.returncode == 1
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_no_file(shop: Shop, tmp_path: Path) -> None:
    folder = tmp_path / "sheet.pdf"
    folder.mkdir()
    with pytest.raises(CommandError, match="is a folder"):
        run("--out", str(folder))
