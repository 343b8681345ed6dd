"""What a package may hold, and what may be written where."""

import ast
import re
from collections.abc import Callable, Iterator

import pytest

from tests.house.tree import HOUSE, ROOMS, Module, assert_none, module, modules

OTHERS = {
    "__init__",
    "apps",
    "migrations",
    "management",
    "templatetags",
    "data",
    "checks",
    "middleware",
}
FREE = {"base", "front"}  # what all others share, and what brings them together
WRITES = {
    "create",
    "bulk_create",
    "bulk_update",
    "get_or_create",
    "update_or_create",
    "update",
    "delete",
}
CLOCKS = {"datetime.now", "datetime.utcnow", "datetime.today", "date.today", "timezone.now"}
CLOCK_FILE = "fraginv/base/clock.py"
OPENERS = ("fraginv/base/transactions.py", "fraginv/front/demo/")
ACTIONS_OF_A_MODEL = "fraginv/base/models/people.py"  # Django's own place for making a person


def nodes(file: Module, kind: type[ast.AST]) -> Iterator[ast.AST]:
    """List a module's nodes of one kind."""
    return (node for node in ast.walk(file.tree) if isinstance(node, kind))


def public_functions(file: Module) -> Iterator[ast.FunctionDef]:
    """List a module's own functions that others may call."""
    return (
        node
        for node in file.tree.body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    )


def strange_rooms(package: str, names: set[str]) -> list[str]:
    """Name the modules of a package that are none of its rooms."""
    allowed = set(ROOMS) | OTHERS
    return [] if package in FREE else [f"{package}.{name}" for name in sorted(names - allowed)]


def imported_elsewhere(files: list[Module]) -> set[tuple[str, str]]:
    """List what is imported out of its own room, as the file's path and the name."""
    return {
        (target, name.name)
        for file in files
        for node in nodes(file, ast.ImportFrom)
        if isinstance(node, ast.ImportFrom)
        for target in [f"{(node.module or '').replace('.', '/')}.py"]
        if target.split("/")[:3] != file.path.split("/")[:3]
        for name in node.names
    }


def loose_arguments(files: list[Module]) -> list[str]:
    """Name the actions and queries that others call and that take unnamed arguments.

    The first argument may go without its name.
    """
    shared = imported_elsewhere(files)
    return [
        f"{file.path}:{function.lineno}: {function.name}"
        for file in files
        if file.room in {"actions", "queries"}
        for function in public_functions(file)
        if (file.path, function.name) in shared
        and len(function.args.posonlyargs) + len(function.args.args) > 1
    ]


def bare_saves(file: Module) -> list[str]:
    """Name the saves that would write a whole existing row."""
    return [
        f"{file.path}:{node.lineno}: save() without update_fields or force_insert"
        for node in nodes(file, ast.Call)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "save"
        and not node.args
        and not {"update_fields", "force_insert"} & {word.arg for word in node.keywords}
    ]


def writes(file: Module) -> list[str]:
    """Name the calls that write rows by way of a model's manager."""
    return [
        f"{file.path}:{node.lineno}: {ast.unparse(node.func)}"
        for node in nodes(file, ast.Call)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in WRITES
        and ".objects." in ast.unparse(node.func)
    ]


def clocks(file: Module) -> list[str]:
    """Name the places that ask what time it is."""
    return [
        f"{file.path}:{node.lineno}: {ast.unparse(node)}"
        for node in nodes(file, ast.Attribute)
        if isinstance(node, ast.Attribute) and ".".join(ast.unparse(node).split(".")[-2:]) in CLOCKS
    ]


def transactions(file: Module) -> list[str]:
    """Name the places that open a transaction of their own."""
    return [
        f"{file.path}:{node.lineno}: {ast.unparse(node)}"
        for node in nodes(file, ast.Attribute)
        if isinstance(node, ast.Attribute) and ast.unparse(node).endswith("transaction.atomic")
    ]


def private_imports(file: Module) -> list[str]:
    """Name the imports of what another module keeps to itself."""
    return [
        f"{file.path}:{node.lineno}: {node.module}.{name.name}"
        for node in nodes(file, ast.ImportFrom)
        if isinstance(node, ast.ImportFrom) and node.module != "__future__"
        for name in node.names
        if name.name.startswith("_") or re.search(r"\._(?!_)", node.module or "")
    ]


def is_action(file: Module) -> bool:
    """Tell whether a module is one in which rows are written."""
    return file.room == "actions" or file.path == ACTIONS_OF_A_MODEL


def may_open(file: Module) -> bool:
    """Tell whether a module may open a transaction: views, forms and queries never do."""
    return file.room in {"actions", "loading"} or file.path.startswith(OPENERS)


def test_packages_hold_their_rooms_alone() -> None:
    found = []
    for folder in HOUSE.iterdir():
        if (folder / "__init__.py").exists():
            names = {entry.stem for entry in folder.iterdir() if entry.name != "__pycache__"}
            found += strange_rooms(folder.name, names)
    assert_none(found)


def test_actions_and_queries_name_their_arguments() -> None:
    files = list(modules("fraginv"))
    assert imported_elsewhere(files)
    assert_none(loose_arguments(files))


def test_a_planted_unnamed_argument_is_found() -> None:
    own = module("fraginv/stock/actions/cut.py", "def cut(a, b): ...\ndef note(a, *, b): ...")
    beside = module("fraginv/stock/actions/x.py", "from fraginv.stock.actions.cut import cut, note")
    above = module("fraginv/stock/views/x.py", "from fraginv.stock.actions.cut import cut, note")
    assert loose_arguments([own, beside]) == []
    assert loose_arguments([own, above]) == ["fraginv/stock/actions/cut.py:1: cut"]


def test_existing_rows_are_saved_by_field() -> None:
    files = [file for file in modules("fraginv") if file.room == "actions"]
    assert_none([line for file in files for line in bare_saves(file)])


def test_only_actions_write() -> None:
    assert any(writes(file) for file in modules("fraginv") if is_action(file))
    files = [file for file in modules("fraginv") if not is_action(file)]
    assert_none([line for file in files for line in writes(file)])


def test_one_module_asks_the_clock() -> None:
    files = [file for file in modules("fraginv") if file.path != CLOCK_FILE]
    assert_none([line for file in files for line in clocks(file)])
    assert [line for file in modules("fraginv/base") for line in clocks(file)]


def test_only_writers_open_transactions() -> None:
    files = [file for file in modules("fraginv") if not may_open(file)]
    assert_none([line for file in files for line in transactions(file)])
    assert any(transactions(file) for file in modules("fraginv") if may_open(file))


def test_nothing_private_is_imported() -> None:
    files = modules("fraginv", "tests")
    assert_none([line for file in files for line in private_imports(file)])


@pytest.mark.parametrize(
    ("check", "good", "bad"),
    [
        pytest.param(bare_saves, "a.save(update_fields=['b'])", "a.save()", id="bare save"),
        pytest.param(writes, "a.update(b=1)", "Frag.objects.filter(a=1).update(b=1)", id="write"),
        pytest.param(clocks, "clock.now()", "datetime.now(UTC)", id="clock"),
        pytest.param(clocks, "a.date()", "datetime.date.today()", id="day"),
        pytest.param(transactions, "one_transaction(a)", "transaction.atomic()", id="atomic"),
        pytest.param(private_imports, "from a import b", "from fraginv.a import _b", id="private"),
    ],
)
def test_a_planted_break_is_found(
    check: Callable[[Module], list[str]], good: str, bad: str
) -> None:
    path = "fraginv/stock/actions/planted.py"
    assert check(module(path, good)) == []
    assert len(check(module(path, bad))) == 1


def test_a_misspelt_room_is_found() -> None:
    assert strange_rooms("stock", {"rules", "actions", "__init__", "apps"}) == []
    assert strange_rooms("stock", {"rule", "actions"}) == ["stock.rule"]
