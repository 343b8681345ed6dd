"""What others call says what it does."""

import ast
import re

import pytest

from tests.house.tree import TEMPLATES, Module, assert_none, module, modules, relative

SAYS = {"rules", "actions", "loading", "queries", "models"}
NO_VERB_ENDING = re.compile(r"(ss|us)$")


def first_sentence(text: str) -> str:
    """Return a docstring's first paragraph in one line."""
    return " ".join(text.strip().split("\n\n")[0].split())


def is_public(node: ast.stmt) -> bool:
    """Tell whether a statement defines something that others may use."""
    return isinstance(
        node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
    ) and not node.name.startswith("_")


def complaint(node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> str:
    """Say what a definition's docstring lacks, or return an empty text."""
    text = ast.get_docstring(node)
    if not text:
        return "has no docstring"
    sentence = first_sentence(text)
    if "." not in sentence:
        return "opens with no whole sentence"
    first = sentence.split()[0]
    if (
        not isinstance(node, ast.ClassDef)
        and first.endswith("s")
        and not NO_VERB_ENDING.search(first)
    ):
        return f"opens with {first!r} and not with an order"
    return ""


def undocumented(file: Module) -> list[str]:
    """Name what a module of a speaking room leaves unsaid."""
    found = []
    for node in file.tree.body:
        if file.room in SAYS and is_public(node):
            assert isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
            if lack := complaint(node):
                found.append(f"{file.path}:{node.lineno}: {node.name} {lack}")
    return found


def opens_with_comment(source: str) -> bool:
    """Tell whether a component says first what it takes."""
    return source.lstrip().startswith(("{#", "{% comment"))


def test_rules_models_queries_and_actions_say_what_they_do() -> None:
    files = [file for file in modules("fraginv") if file.room in SAYS]
    assert files
    assert_none([line for file in files for line in undocumented(file)])


def test_modules_say_what_they_hold() -> None:
    files = [
        file
        for file in modules("fraginv", "tests")
        if not file.path.endswith(("__init__.py", "apps.py", "conftest.py"))
    ]
    assert_none([file.path for file in files if not ast.get_docstring(file.tree)])


def test_components_say_what_they_take() -> None:
    files = sorted(TEMPLATES.glob("*/components/*.html"))
    assert files
    silent = [file for file in files if not opens_with_comment(file.read_text(encoding="utf-8"))]
    assert_none([relative(file) for file in silent])


@pytest.mark.parametrize(
    ("source", "lack"),
    [
        pytest.param("def cut(): ...", "has no docstring", id="function"),
        pytest.param("class Frag: ...", "has no docstring", id="class"),
        pytest.param('def cut():\n    "Cut it"', "opens with no whole sentence", id="sentence"),
        pytest.param('def cut():\n    "Cuts it."', "opens with 'Cuts'", id="order"),
    ],
)
def test_a_planted_silence_is_found(source: str, lack: str) -> None:
    path = "fraginv/stock/actions/cut.py"
    good = 'def cut():\n    "Cut it."\n\ndef _own(): ...\n\nclass A:\n    "A thing."'
    assert undocumented(module(path, good)) == []
    assert len(found := undocumented(module(path, source))) == 1
    assert lack in found[0]
    assert undocumented(module("fraginv/stock/forms.py", source)) == []


def test_a_planted_silent_component_is_found() -> None:
    assert opens_with_comment("{# field: a bound field #}\n<div>")
    assert not opens_with_comment("<div>{# field #}")
