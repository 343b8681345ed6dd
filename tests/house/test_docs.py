"""The documents name what there is."""

import ast
import re
from collections.abc import Iterator

import pytest

from tests.house.tree import HOUSE, ROOT, Module, assert_none, floors, module, modules

DOCUMENTS = ("README.md", "DEVELOPERS.md")
NOT_OURS = {"DJANGO_SETTINGS_MODULE"}  # Django's own, set by manage.py
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


def variables(file: Module) -> Iterator[str]:
    """List the environment variables that a module reads by name."""
    for node in ast.walk(file.tree):
        if isinstance(node, ast.Call) and node.args:
            name, key = ast.unparse(node.func), node.args[0]
        elif isinstance(node, ast.Subscript):
            name, key = ast.unparse(node.value), node.slice
        else:
            continue
        reads = name.endswith(("environ", "environ.get", "getenv")) or name.startswith("env_")
        if reads and isinstance(key, ast.Constant):
            yield str(key.value)


def test_every_command_is_documented() -> None:
    commands = [file.stem for file in HOUSE.glob("*/management/commands/[a-z]*.py")]
    assert_none(unnamed(sorted(commands), "\n".join(read(name) for name in DOCUMENTS)))


def test_every_package_is_on_the_map() -> None:
    packages = [folder.name for folder in HOUSE.iterdir() if (folder / "apps.py").exists()]
    assert set(packages) <= set(floors())
    assert_none(unnamed(sorted(packages), read("DEVELOPERS.md")))


def test_every_variable_is_explained_in_the_settings() -> None:
    words = ast.get_docstring(ast.parse(read("fraginv/settings.py"))) or ""
    found = {name for file in modules("fraginv") for name in variables(file)} - NOT_OURS
    assert "FRAGINV_HOME" in found
    assert_none(unnamed(sorted(found), f"`{words.replace('`', '')}`"))


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
    source = "os.environ['A']\nos.environ.get('B')\nenv_flag('C')\nos.getenv('D')\nx['E']"
    assert sorted(variables(module("fraginv/x.py", source))) == ["A", "B", "C", "D"]
