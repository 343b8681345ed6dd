"""The documents name what there is."""

import ast
import inspect
import re
from collections.abc import Iterator
from fnmatch import fnmatch

import pytest

from fraginv.base import environment
from fraginv.base.environment import VARIABLES
from tests.house.tree import HOUSE, ROOT, Module, assert_none, floors, module, modules

DOCUMENTS = ("README.md", "DEVELOPERS.md")
# What a recipe calls a file that one is about to write.
MODELS = ("templates/base/components/_x.html", "static/css/components/x.css")
SECTIONS = {
    "Run it": ".ci/setup && .venv/bin/python manage.py demo",
    "Test it": ".ci/setup test && .venv/bin/python -m tests",
}


def read(name: str) -> str:
    """Return a document's text."""
    return (ROOT / name).read_text(encoding="utf-8")


def unnamed(words: list[str], text: str) -> list[str]:
    """Name the words that stand nowhere in a text as code."""
    code = " ".join(re.findall(r"`+[^`]+`+", text))
    return [word for word in words if not re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", code)]


def fenced_lines(text: str, section: str) -> list[list[str]]:
    """Return the lines of each fenced block in a section."""
    part = re.split(r"^## ", text, flags=re.MULTILINE)
    body = next((p for p in part if p.splitlines()[:1] == [section]), "")
    blocks = re.findall(r"^```\w*\n(.*?)^```$", body, flags=re.MULTILINE | re.DOTALL)
    return [block.splitlines() for block in blocks]


def files_named(text: str) -> list[str]:
    """Return the files that a text names by folder and name; ``<name>`` stands for any."""
    code = " ".join(re.findall(r"`([^`\n]+)`", text))
    return re.findall(
        r"(?<![\w./-])[\w.<>*-]+(?:/[\w.<>*-]+)+\.(?:py|html|css|js|toml|txt)\b", code
    )


def not_there(names: list[str], files: list[str]) -> list[str]:
    """Name the files that are none of those there, wherever they stand in the tree."""
    return [
        name
        for name in names
        if not any(fnmatch(f"/{file}", f"*/{re.sub('<.*?>', '*', name)}") for file in files)
    ]


def readers(file: Module) -> Iterator[str]:
    """Name the places where a module reads a variable of the environment by itself."""
    for node in ast.walk(file.tree):
        if isinstance(node, ast.Subscript):
            name = ast.unparse(node.value)
        elif isinstance(node, ast.Call):
            name = ast.unparse(node.func)
        else:
            continue
        if name.endswith(("environ", "environ.get", "getenv")):
            yield f"{file.path}:{node.lineno}: {name}"


def rows_of(text: str, section: str) -> list[list[str]]:
    """Return the rows of the table in a section, without its head."""
    part = re.split(r"^## ", text, flags=re.MULTILINE)
    body = next((p for p in part if p.splitlines()[:1] == [section]), "")
    lines = [line for line in body.splitlines() if line.startswith("|")][2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def test_every_command_is_documented() -> None:
    commands = [file.stem for file in HOUSE.glob("*/management/commands/[a-z]*.py")]
    assert_none(unnamed(sorted(commands), "\n".join(read(name) for name in DOCUMENTS)))


def test_every_package_is_on_the_map() -> None:
    packages = [folder.name for folder in HOUSE.iterdir() if (folder / "apps.py").exists()]
    assert set(packages) <= set(floors())
    assert_none(unnamed(sorted(packages), read("DEVELOPERS.md")))


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_file_that_is_named_is_there(name: str) -> None:
    folders = (ROOT / folder for folder in ("fraginv", "static", "templates", "tests", ".ci"))
    files = [one.relative_to(ROOT).as_posix() for folder in folders for one in folder.rglob("*.*")]
    assert_none(not_there([one for one in files_named(read(name)) if one not in MODELS], files))


def test_the_settings_page_says_what_the_code_reads() -> None:
    told = [[f"`{row.name}`", row.default, row.effect] for row in VARIABLES]
    assert rows_of(read("README.md"), "Settings") == told


def test_every_variable_in_the_table_is_read() -> None:
    words = inspect.getsource(environment)
    names = [row.name for row in VARIABLES if not row.name.startswith("AWS_")]  # boto3 reads these
    short = [name.removeprefix("FRAGINV_") for name in names]
    assert_none([name for name in short if words.count(f'"{name}"') + words.count(f'_{name}"') < 2])


def test_the_environment_is_read_in_one_place() -> None:
    assert_none([line for file in modules("fraginv") for line in readers(file)])


@pytest.mark.parametrize("section", SECTIONS)
def test_sections_hold_one_line_each(section: str) -> None:
    assert fenced_lines(read("README.md"), section) == [[SECTIONS[section]]]


def test_planted_gaps_are_found() -> None:
    assert unnamed(["cut", "read"], "`manage.py cut` reads") == ["read"]
    assert unnamed(["load"], "```\nmanage.py load sales\n```") == []
    text = "# A\n\n## Run it\n\n```sh\na\nb\n```\n\n## Test it\n\n```sh\nc\n```\n"
    assert fenced_lines(text, "Run it") == [["a", "b"]]
    assert fenced_lines(text, "Test it") == [["c"]]
    assert fenced_lines(text, "Other") == []
    text = "`fraginv/cut.py: go` and `rules/<any>.py`, not rules/no.py"
    assert files_named(text) == ["fraginv/cut.py", "rules/<any>.py"]
    assert not_there(files_named(text), ["a/rules/b.py"]) == ["fraginv/cut.py"]
    source = "os.environ['A']\nos.environ.get('B')\nos.getenv('D')\nx['E']\n{**os.environ}"
    assert len(list(readers(module("fraginv/x.py", source)))) == 3
    table = "## Settings\n\n| a | b |\n| - | - |\n| `X` | 1 |\n\n## Other\n"
    assert rows_of(table, "Settings") == [["`X`", "1"]]
