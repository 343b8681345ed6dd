"""The table of security requirements is whole, and names tests that exist."""

import ast
import re
from collections import Counter
from collections.abc import Iterator

from tests.house.tree import ROOT, assert_none

# Source: OWASP Application Security Verification Standard, version 5.0.0, folder 5.0/en:
# the requirements of each level (11.4.4 and the two sums from memory).
LEVEL_1 = """
    1.2.1-5 1.3.1-2 1.5.1 2.1.1 2.2.1-2 2.3.1 3.2.1-2 3.3.1 3.4.1-2 3.5.1-3 4.1.1 4.4.1
    5.2.1-2 5.3.1-2 6.1.1 6.2.1-8 6.3.1-2 6.4.1-2 7.2.1-4 7.4.1-2 8.1.1 8.2.1-2 8.3.1
    9.1.1-3 9.2.1 10.4.1-5 11.3.1-2 11.4.1 12.1.1 12.2.1-2 13.4.1 14.2.1 14.3.1 15.1.1
    15.2.1 15.3.1
"""
LEVEL_2 = """
    1.1.1-2 1.2.6-9 1.3.3-11 1.4.1-3 1.5.2 2.1.2-3 2.2.3 2.3.2-4 2.4.1 3.3.2-4 3.4.3-6
    3.5.4-5 3.7.1-2 4.1.2-3 4.2.1 4.3.1-2 4.4.2-4 5.1.1 5.2.3 5.4.1-3 6.1.2-3 6.2.9-12
    6.3.3-4 6.4.3-4 6.5.1-5 6.6.1-3 6.8.1-4 7.1.1-3 7.3.1-2 7.4.3-5 7.5.1-2 7.6.1-2 8.1.2
    8.2.3 8.4.1 9.2.2-4 10.1.1-2 10.2.1-2 10.3.1-4 10.4.6-11 10.5.1-5 10.6.1-2 10.7.1-3
    11.1.1-2 11.2.1-3 11.3.3 11.4.2-4 11.5.1 11.6.1 12.1.2-3 12.3.1-4 13.1.1 13.2.1-5
    13.3.1-2 13.4.2-5 14.1.1-2 14.2.2-4 14.3.2-3 15.1.2-3 15.2.2-3 15.3.2-7 16.1.1 16.2.1-5
    16.3.1-4 16.4.1-3 16.5.1-3 17.1.1 17.2.1-4 17.3.1-2
"""
NUMBER = re.compile(r"V[0-9]+(?:\.[0-9]+)?|[0-9]+\.[0-9]+\.[0-9]+(?:[-–][0-9]+)?")
NAMED = re.compile(
    r"`(?P<file>[a-z]+/test_\w+\.py)`|`(?P<test>test_\w+)`|`(?P<path>[a-z]+/[\w/]+\.py)`"
)
MOST_LINES_BEFORE = 200


def numbers_in(text: str) -> list[str]:
    """Return the numbers that a text names, one for one; ``V`` stays as it is."""
    found = []
    for word in NUMBER.findall(text):
        section, _, last = word.rpartition(".")
        first, _, end = re.sub("–", "-", last).partition("-")
        if word.startswith("V"):
            found.append(word)
        else:
            found += [f"{section}.{number}" for number in range(int(first), int(end or first) + 1)]
    return found


ALL = [*numbers_in(LEVEL_1), *numbers_in(LEVEL_2)]


def expanded(named: list[str]) -> Iterator[str]:
    """Yield the requirements that are meant; a chapter or section is all that it holds."""
    for name in named:
        if name.startswith("V"):
            yield from (one for one in ALL if one.startswith(f"{name[1:]}."))
        else:
            yield name


def document() -> tuple[str, str]:
    """Return what stands before the section on security, and the section."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    before, _, section = text.partition("\n## Security\n")
    return before, section


def rows(section: str) -> list[tuple[str, str]]:
    """Return the rows of all tables of the section: requirements, and what is said of them."""
    lines = [line.strip("|").split("|", 1) for line in section.splitlines() if line.startswith("|")]
    return [(first, rest) for first, rest in lines if NUMBER.search(first)]


def misnamed(section: str) -> Iterator[str]:
    """Name each test and file of the rows that does not exist."""
    for requirement, said in rows(section):
        known: set[str] = set()
        for found in NAMED.finditer(said):
            file, test = found["file"], found["test"]
            if file:
                path = ROOT / "tests" / file
                known = names_of(path.read_text(encoding="utf-8")) if path.exists() else set()
                if not path.exists():
                    yield f"{requirement}: there is no tests/{file}"
            elif test and test not in known:
                yield f"{requirement}: {test} does not stand in the file named before it"
            elif found["path"] and not (ROOT / "fraginv" / found["path"]).exists():
                yield f"{requirement}: there is no fraginv/{found['path']}"


def names_of(source: str) -> set[str]:
    """Return the tests of a module."""
    body = ast.parse(source).body
    return {node.name for node in body if isinstance(node, ast.FunctionDef)}


def test_the_standard_has_as_many_requirements() -> None:
    assert (len(numbers_in(LEVEL_1)), len(numbers_in(LEVEL_2))) == (70, 183)
    assert len(set(ALL)) == 253


def test_every_requirement_stands_once() -> None:
    counted = Counter(
        expanded([one for first, _ in rows(document()[1]) for one in numbers_in(first)])
    )
    assert_none([f"{one} is missing" for one in ALL if one not in counted])
    assert_none([f"{one} stands {many} times" for one, many in counted.items() if many > 1])
    assert_none([f"{one} is of no level asked for" for one in counted if one not in ALL])


def test_every_row_says_something() -> None:
    assert_none([first for first, said in rows(document()[1]) if len(said.strip(" |")) < 10])


def test_every_test_that_is_named_exists() -> None:
    assert_none(list(misnamed(document()[1])))


def test_the_rest_of_the_document_can_be_read_in_ten_minutes() -> None:
    assert len(document()[0].splitlines()) <= MOST_LINES_BEFORE


def test_planted_faults_are_found() -> None:
    assert numbers_in("1.4.1–3, V4.3 and 16.2.1") == ["1.4.1", "1.4.2", "1.4.3", "V4.3", "16.2.1"]
    assert list(expanded(["V4.3", "V17"]))[:3] == ["4.3.1", "4.3.2", "17.1.1"]
    table = "| 1.1.1 | `house/test_asvs.py`: `test_none`, `house/test_no.py`, `base/no.py` |\n"
    assert [fault.rpartition(": ")[2] for fault in misnamed(table)] == [
        "test_none does not stand in the file named before it",
        "there is no tests/house/test_no.py",
        "there is no fraginv/base/no.py",
    ]
    assert not list(misnamed("| 1.1.1 | `house/test_asvs.py`: `test_every_row_says_something` |"))
