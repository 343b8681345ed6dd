"""The lock files hold what pyproject.toml asks for, and all that this brings."""

import re
import tomllib
from importlib.metadata import PackageNotFoundError, requires

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.house.tree import ROOT, assert_none

PIN = re.compile(r"^([\w.-]+)==(\S+)( ; [^\\]+)?(?: \\)?$")
HASH = re.compile(r"^    --hash=sha256:[0-9a-f]{64}( \\)?$")


def read_lock(text: str) -> tuple[dict[str, str], list[str]]:
    """Return each locked name with its version, and the lines that do not fit."""
    pins: dict[str, str] = {}
    odd: list[str] = []
    hashed = True
    for line in text.splitlines():
        if pin := PIN.match(line):
            odd += [] if hashed else [f"{list(pins)[-1]} has no hash"]
            pins[canonicalize_name(pin[1])] = pin[2]
            hashed = False
        elif HASH.match(line):
            hashed = True
        else:
            odd.append(line)
    return pins, odd if hashed else [*odd, f"{list(pins)[-1]} has no hash"]


def unmet(needs: list[str], pins: dict[str, str], *, extra: str = "") -> list[str]:
    """Name the requirements that hold here and that the lock does not meet."""
    found = []
    for text in needs:
        need = Requirement(text)
        if need.marker and not need.marker.evaluate({"extra": extra}):
            continue
        version = pins.get(canonicalize_name(need.name))
        if version is None or not need.specifier.contains(version, prereleases=True):
            found.append(f"{text} is locked as {version}")
    return found


def project_needs(extra: str = "") -> list[str]:
    """Return what pyproject.toml asks for."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    more = project["optional-dependencies"][extra] if extra else []
    return [*project["dependencies"], *more]


def brought(pins: dict[str, str]) -> list[str]:
    """Return what the locked packages that are installed ask for in their turn."""
    needs = []
    for name in pins:
        try:
            needs += requires(name) or []
        except PackageNotFoundError:
            continue  # locked for another system than this one
    return needs


def lock(name: str) -> tuple[dict[str, str], list[str]]:
    """Read one of the project's lock files."""
    return read_lock((ROOT / ".ci" / name).read_text(encoding="utf-8"))


@pytest.mark.parametrize(("name", "extra"), [("lock.txt", ""), ("lock-test.txt", "test")])
def test_the_lock_fits_the_project(name: str, extra: str) -> None:
    pins, odd = lock(name)
    assert_none(odd)
    assert_none(unmet(project_needs(extra), pins))
    assert_none(unmet(brought(pins), pins))


def test_both_locks_agree() -> None:
    run, _ = lock("lock.txt")
    test, _ = lock("lock-test.txt")
    assert run.items() <= test.items()


def test_planted_faults_are_found() -> None:
    digest = f"    --hash=sha256:{'0' * 64}"
    pins, odd = read_lock(f"a==1.0 \\\n{digest}\nb-c==2 ; x == 'y' \\\n{digest} \\\n{digest}\n")
    assert (pins, odd) == ({"a": "1.0", "b-c": "2"}, [])
    assert read_lock("a==1.0\n") == ({"a": "1.0"}, ["a has no hash"])
    assert read_lock("a>=1\n")[1] == ["a>=1"]
    assert unmet(["A~=1.0", "B_c>=2", "d ; sys_platform == 'none'"], pins) == []
    assert unmet(["a>=2", "d"], pins) == ["a>=2 is locked as 1.0", "d is locked as None"]
