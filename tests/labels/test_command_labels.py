"""The command ``labels``: one file, exit status, and nothing else left behind."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from fraginv.base.models import Code, Organisation, Person
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.management.commands.labels import Command
from fraginv.labels.models import PrintRun
from tests.base.papers import symbols_of
from tests.conftest import People
from tests.factories import make_frags


def run(*arguments: str) -> str:
    """Run the command and return what it prints."""
    out = StringIO()
    call_command("labels", *arguments, stdout=out)
    return out.getvalue()


def test_labels_are_written_and_told(grower: Person, people: People, tmp_path: Path) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 31)]
    file = tmp_path / "labels.pdf"

    said = run(*map(show_code, codes), "--out", str(file), "--skip", "2")

    assert "31 labels on 2 sheets" in said
    assert "Each QR code is 16.93 mm wide" in said
    assert str(file) in said
    found = symbols_of(file.read_bytes())
    assert [len(page) for page in found] == [28, 3]
    assert {read_code(one.text) for page in found for one in page} == set(codes)
    assert PrintRun.objects.get().by == people[Role.OWNER]
    assert list(tmp_path.iterdir()) == [file]


def test_json_is_one_document(grower: Person, tmp_path: Path) -> None:
    code = make_frags(grower, 1)[0].code_id
    file = tmp_path / "labels.pdf"
    stock = "a4-63.5x33.9"

    told = json.loads(run(code, "--blank", "3", "--stock", stock, "--out", str(file), "--json"))

    blank = list(
        Code.objects.filter(kind="blank").order_by("position").values_list("pk", flat=True)
    )
    assert told == {
        "file": str(file),
        "run": PrintRun.objects.get().pk,
        "stock": stock,
        "form": "plain",
        "skip": 0,
        "sheets": 1,
        "symbol_mm": "16.93",
        "codes": [code, *blank],
        "blank": blank,
    }
    assert len(blank) == 3
    assert {read_code(one.text) for one in symbols_of(file.read_bytes())[0]} == set(told["codes"])


def test_blank_labels_tell_the_first_and_the_last(people: People, tmp_path: Path) -> None:
    said = run("--blank", "30", "--out", str(tmp_path / "blank.pdf"))
    codes = Code.objects.filter(kind="blank").order_by("position")
    assert f"Blank: {show_code(codes[0].pk)} to {show_code(codes[29].pk)}." in said


def test_one_label_on_one_sheet_is_said_so(people: People, tmp_path: Path) -> None:
    assert "1 label on 1 sheet:" in run("--blank", "1", "--out", str(tmp_path / "blank.pdf"))


def test_a_file_is_replaced_whole(people: People, tmp_path: Path) -> None:
    file = tmp_path / "labels.pdf"
    file.write_text("old")
    run("--blank", "1", "--out", str(file))
    assert file.read_bytes().startswith(b"%PDF-")
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "No labels were asked for"),
        (["--blank", "0"], "0 blank labels at once"),
        (["--blank", "10000"], "10000 blank labels at once"),
        (["--blank", "-3"], "-3 blank labels at once"),
        (["--blank", "1", "--skip", "30"], "skip 0 to 29"),
        (["--blank", "1", "--stock", "round"], "no label stock “round”"),
        (["7K3-Q9F-M"], "A character in 7K3-Q9F-M is wrong"),
        (["7K3-Q9F-N"], "No such code was made here"),
    ],
)
def test_bad_input_fails_and_writes_nothing(
    people: People, tmp_path: Path, arguments: list[str], message: str
) -> None:
    file = tmp_path / "labels.pdf"
    file.write_text("old")
    with pytest.raises(CommandError, match=message) as failed:
        run(*arguments, "--out", str(file))
    assert failed.value.returncode == 1
    assert file.read_text() == "old"
    assert list(tmp_path.iterdir()) == [file]
    assert not Code.objects.exists()
    assert not PrintRun.objects.exists()


@pytest.mark.parametrize("name", ["none/labels.pdf", "folder"])
def test_a_place_that_cannot_be_written_is_named(people: People, tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(CommandError, match="Name a"):
        run("--blank", "1", "--out", str(tmp_path / name))
    assert not Code.objects.exists()


def test_without_an_organisation_it_says_what_to_do(db: None, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="manage.py start"):
        run("--blank", "1", "--out", str(tmp_path / "labels.pdf"))


@pytest.mark.parametrize("arguments", [["--blank", "many", "--out", "x.pdf"], ["--blank", "1"]])
def test_misused_options_exit_with_1(
    organisation: Organisation, arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        Command().run_from_argv(["manage.py", "labels", *arguments])
    assert stopped.value.code == 1
    assert "error" in capsys.readouterr().err
