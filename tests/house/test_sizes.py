"""Nothing grows past the size at which it is read in one go."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import ROOT, STATIC, Module, assert_none, module, modules, relative, templates

FUNCTION_LINES = 40
VIEW_LINES = 35
MODULE_LINES = 300
TEST_MODULE_LINES = 500
FILE_LINES = {".html": 120, ".css": 250, ".js": 200}


def functions(tree: ast.AST) -> Iterator[tuple[str, int, int]]:
    """List each function's name, first line and length without its decorators."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name, node.lineno, (node.end_lineno or node.lineno) - node.lineno + 1


def long_functions(file: Module) -> list[str]:
    """Name the functions of a module that are too long."""
    most = VIEW_LINES if file.room == "views" else FUNCTION_LINES
    return [
        f"{file.path}:{line}: {name} has {length} lines, {most} are allowed"
        for name, line, length in functions(file.tree)
        if length > most
    ]


def too_long(path: str, text: str) -> str:
    """Say how long a file is where that is too long; else return an empty text."""
    suffix = Path(path).suffix
    module_lines = TEST_MODULE_LINES if path.startswith("tests/") else MODULE_LINES
    most = module_lines if suffix == ".py" else FILE_LINES[suffix]
    length = len(text.splitlines())
    return f"{path} has {length} lines, {most} are allowed" if length > most else ""


def test_functions_are_short() -> None:
    assert_none([line for file in modules("fraginv", "tests") for line in long_functions(file)])


def test_files_are_short() -> None:
    files = [
        file
        for folder in ("fraginv", "tests")
        for file in sorted((ROOT / folder).rglob("*.py"))
        if "migrations" not in file.parts
    ]
    files += [*templates(), *sorted(STATIC.rglob("*.css")), *sorted(STATIC.rglob("*.js"))]
    found = [too_long(relative(file), file.read_text(encoding="utf-8")) for file in files]
    assert_none([line for line in found if line])


@pytest.mark.parametrize(
    ("path", "most"),
    [
        pytest.param("fraginv/stock/actions/cut.py", FUNCTION_LINES, id="function"),
        pytest.param("fraginv/stock/views.py", VIEW_LINES, id="view"),
        pytest.param("fraginv/stock/views/cut.py", VIEW_LINES, id="view in a package"),
        pytest.param("tests/stock/test_cut.py", FUNCTION_LINES, id="test"),
    ],
)
def test_a_planted_long_function_is_found(path: str, most: int) -> None:
    def source(lines: int) -> str:
        return "@decorated\ndef long():\n" + "    x = 1\n" * (lines - 1)

    assert long_functions(module(path, source(most))) == []
    assert long_functions(module(path, source(most + 1))) == [
        f"{path}:2: long has {most + 1} lines, {most} are allowed"
    ]


@pytest.mark.parametrize(
    ("path", "most"),
    [
        ("fraginv/stock/models.py", 300),
        ("tests/stock/test_models.py", 500),
        ("templates/stock/frag_list.html", 120),
        ("static/css/base.css", 250),
        ("static/js/scan.js", 200),
    ],
)
def test_a_planted_long_file_is_found(path: str, most: int) -> None:
    assert too_long(path, "\n" * most) == ""
    assert too_long(path, "\n" * (most + 1)).startswith(f"{path} has {most + 1} lines")
