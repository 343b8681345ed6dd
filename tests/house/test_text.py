"""What stands in the repository, and what must not."""

import re

import pytest

from tests.house.tree import ROOT, assert_none, relative, text_files

TOP = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "fraginv",
    "templates",
    "static",
    "tests",
    "fixtures",
}
LEFT_BY_RUNS = {"var", "__pycache__"}

# Written in pieces, so that this file does not hold what it looks for.
PATHS = re.compile(r"(?<![\w./~:)}-])/(?:ro" + r"ot|ho" + r"me|Us" + r"ers|wo" + r"rk)/\w")
HOSTS = re.compile(
    r"\bpy" + r"pi\.org|python" + r"hosted\.org|npm" + r"js\.(?:org|com)|deb\.deb" + r"ian\.org"
)
LATER = re.compile(
    r"\bTO" + r"DO\b|\bFIX" + r"ME\b|\bmark\.(?:sk" + r"ip|xf" + r"ail)|\bpytest\.(?:sk" + r"ip|xf"
    + r"ail|importor" + r"skip)\b|pragma: no " + r"cover"
)  # fmt: skip


def hits(pattern: re.Pattern[str], path: str, text: str) -> list[str]:
    """Name the lines of a text that hold what a pattern looks for."""
    return [
        f"{path}:{number}: {line.strip()[:120]}"
        for number, line in enumerate(text.splitlines(), start=1)
        if pattern.search(line)
    ]


def strangers(names: set[str]) -> list[str]:
    """Name what does not belong at the top of the repository."""
    return sorted(name for name in names - TOP - LEFT_BY_RUNS if not name.startswith("."))


@pytest.mark.parametrize("pattern", [PATHS, HOSTS, LATER], ids=["paths", "hosts", "later"])
def test_no_file_holds(pattern: re.Pattern[str]) -> None:
    found = []
    for file in text_files():
        found += hits(pattern, relative(file), file.read_text(encoding="utf-8"))
    assert_none(found)


def test_only_what_belongs_stands_at_the_top() -> None:
    assert_none(strangers({entry.name for entry in ROOT.iterdir()}))


def test_init_files_are_empty() -> None:
    files = [
        file
        for folder in ("fraginv", "tests")
        for file in (ROOT / folder).rglob("__init__.py")
        if file.parent.name not in {"models"}  # Django looks for tables there
    ]
    assert files
    assert_none([relative(file) for file in files if file.read_bytes()])


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        (PATHS, "see /ho" + "me/ann/notes"),
        (PATHS, "path = '/ro" + "ot/x'"),
        (HOSTS, "from https://py" + "pi.org/simple"),
        (LATER, "# TO" + "DO: later"),
        (LATER, "@pytest.mark.sk" + "ip"),
        (LATER, "x = 1  # pragma: no " + "cover"),
    ],
)
def test_planted_words_are_found(pattern: re.Pattern[str], line: str) -> None:
    good = "url = '/T/7K3Q9F2'\nlabels --skip 3\n<a href='{{ x }}/home/'>"
    assert hits(pattern, "a.py", good) == []
    assert hits(pattern, "a.py", f"{good}\n{line}") == [f"a.py:4: {line}"]


def test_a_planted_stranger_is_found() -> None:
    assert strangers({"README.md", ".ci", "var", "tests", "docs"}) == ["docs"]
