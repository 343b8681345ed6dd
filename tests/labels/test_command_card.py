"""The command ``card``: one file, exit status, and nothing else left behind."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from fraginv.base.models import Organisation, Person
from fraginv.labels.actions.stocks import add_printer, measure_printer, withdraw_printer
from fraginv.labels.management.commands.card import Command
from fraginv.labels.queries.card import card_pdf
from fraginv.labels.rules.printers import Check, Measures
from tests.base.papers import page_sizes_mm, texts_of


def run(*arguments: str) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("card", *arguments, stdout=out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("house", "asked", "size"),
    [
        ("letter", [], (215.9, 279.4)),
        ("a4", [], (148.0, 210.0)),
        ("letter", ["--paper", "a5"], (148.0, 210.0)),
        ("a4", ["--paper", "Letter"], (215.9, 279.4)),
    ],
)
def test_the_card_is_written_and_told(
    organisation: Organisation,
    tmp_path: Path,
    house: str,
    asked: list[str],
    size: tuple[float, float],
) -> None:
    organisation.paper = house
    organisation.save(update_fields=["paper"])
    file = tmp_path / "card.pdf"
    said = run(*asked, "--out", str(file))
    assert page_sizes_mm(file.read_bytes()) == [size]
    assert str(file) in said
    assert "without “fit to page”, then measure its bar: it is 100 mm long" in said
    assert list(tmp_path.iterdir()) == [file]


def test_for_a_printer_and_as_json(grower: Person, tmp_path: Path) -> None:
    printer = add_printer("Office printer", by=grower)
    measure_printer(printer.pk, measures=Measures(990, 1000, 200, 200), check=Check(), by=grower)
    file = tmp_path / "card.pdf"
    asked = ("--paper", "a5", "--printer", " office  PRINTER", "--out", str(file), "--json")
    assert json.loads(run(*asked)) == {
        **{"file": str(file), "paper": "a5", "printer": "Office printer"},
        **{"bar_mm": 100.0, "markers": 8},
    }
    assert "For Office printer alone" in texts_of(file.read_bytes())[0]
    assert file.read_bytes() != card_pdf("a5")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--paper", "a4"], "printed on a5 or letter, not on “a4”"),
        (["--printer", "Cellar"], "no printer “Cellar”. There are: Office"),
        (["--printer", "Attic"], "no printer “Attic”"),
        (["--printer", "Office"], "Nobody has measured Office yet"),
    ],
)
def test_bad_input_fails_and_writes_nothing(
    grower: Person, tmp_path: Path, arguments: list[str], message: str
) -> None:
    add_printer("Office", by=grower)
    withdraw_printer(add_printer("Attic", by=grower).pk, by=grower)
    file = tmp_path / "card.pdf"
    file.write_text("old")
    with pytest.raises(CommandError, match=message) as failed:
        run(*arguments, "--out", str(file))
    assert failed.value.returncode == 1
    assert file.read_text() == "old"
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize("name", ["none/card.pdf", "folder"])
def test_a_place_that_cannot_be_written_is_named(
    organisation: Organisation, tmp_path: Path, name: str
) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(CommandError, match="Name a"):
        run("--out", str(tmp_path / name))


def test_without_a_printer_or_an_organisation_it_says_so(db: None, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"manage\.py start"):
        run("--out", str(tmp_path / "card.pdf"))


def test_a_missing_file_exits_with_1(
    organisation: Organisation, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        Command().run_from_argv(["manage.py", "card"])
    assert stopped.value.code == 1
    assert "--out" in capsys.readouterr().err
