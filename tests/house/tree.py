"""Where the project's files are, and which package stands on which floor."""

import ast
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
HOUSE = ROOT / "fraginv"
TEMPLATES = ROOT / "templates"
STATIC = ROOT / "static"
ROOMS = (
    "rules",
    "seeing",
    "models",
    "queries",
    "actions",
    "loading",
    "forms",
    "views",
    "urls",
    "admin",
)


@dataclass(frozen=True)
class Module:
    """One Python file: its path below the root, and its syntax tree."""

    path: str
    tree: ast.Module

    @property
    def package(self) -> str:
        """The package of the house that it belongs to, or an empty text."""
        parts = self.path.split("/")
        return parts[1] if parts[0] == "fraginv" and len(parts) > 2 else ""

    @property
    def room(self) -> str:
        """The room of its package that it stands in, or an empty text."""
        parts = self.path.split("/")
        name = parts[2].removesuffix(".py") if self.package else ""
        return name if name in ROOMS else ""


@cache
def parsed(file: Path) -> Module:
    """Read and parse one file, once in a run."""
    return module(relative(file), file.read_text(encoding="utf-8"))


def module(path: str, source: str) -> Module:
    """Parse a module from text; the tests plant their violations this way."""
    return Module(path, ast.parse(source))


def relative(file: Path) -> str:
    """Return a file's path below the root, with forward slashes."""
    return file.relative_to(ROOT).as_posix()


def modules(*folders: str, migrations: bool = False) -> Iterator[Module]:
    """Parse all Python files below the folders, migrations only where asked for."""
    for folder in folders:
        for file in sorted((ROOT / folder).rglob("*.py")):
            if migrations or "migrations" not in file.parts:
                yield parsed(file)


def templates() -> Iterator[Path]:
    """List the project's templates."""
    yield from sorted(TEMPLATES.rglob("*.html"))


def text_files() -> Iterator[Path]:
    """List the text files that belong to the project."""
    for folder in ("fraginv", "templates", "static", "tests", "fixtures", ".ci"):
        for file in sorted((ROOT / folder).rglob("*")):
            if file.is_file() and "__pycache__" not in file.parts and b"\0" not in head(file):
                yield file
    yield from sorted(
        file for file in ROOT.iterdir() if file.suffix in {".md", ".toml", ".py"} and file.is_file()
    )


def head(file: Path) -> bytes:
    """Return a file's first bytes; those of text hold no zero."""
    with file.open("rb") as handle:
        return handle.read(1024)


@cache
def floors() -> dict[str, int]:
    """Read from the import contract which package stands on which floor, 0 the lowest."""
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = setup["tool"]["importlinter"]["contracts"]
    layers = next(c["layers"] for c in contracts if c["name"].startswith("Floors"))
    return {
        name.strip(" ()"): number
        for number, layer in enumerate(reversed(layers))
        for name in layer.split("|")
    }


def may_use(user: str, used: str) -> bool:
    """Tell whether one package may know another: itself, or one on a lower floor."""
    numbers = floors()
    return user == used or numbers[used] < numbers[user]


def assert_none(found: list[str]) -> None:
    """Fail with every line that a check found."""
    assert not found, f"{len(found)} found:\n" + "\n".join(found)
