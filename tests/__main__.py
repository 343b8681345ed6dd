"""Every check of the project in one command: ``.venv/bin/python -m tests``.

``--fast`` runs what daily work needs: the same checks of the text, then the
tests on SQLite without a browser. All steps run, whatever an earlier one
finds; the exit status is 1 if any of them failed. The last lines are those of
the last run of pytest.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CODE = ("fraginv", "tests", "manage.py")
MOST_WORKERS = 8


@dataclass(frozen=True)
class Step:
    """One check: what it is called and what is run for it."""

    name: str
    command: Sequence[str]


def tool(name: str) -> str:
    """Return a tool's path beside the Python that runs this."""
    return str(Path(sys.executable).with_name(name))


def text_steps() -> list[Step]:
    """List the checks that read the project's text."""
    templates = sorted(str(file.relative_to(ROOT)) for file in ROOT.glob("templates/**/*.html"))
    return [
        Step("format of Python", [tool("ruff"), "format", "--check", "."]),
        Step("rules for Python", [tool("ruff"), "check", "."]),
        Step("types", [tool("mypy"), *CODE]),
        Step("floors and rooms", [tool("lint-imports")]),
        Step(
            "format of templates",
            [tool("djade"), "--check", "--target-version", "5.2", *templates],
        ),
        Step("indents of templates", [tool("djhtml"), "--check", "--tabwidth", "2", "templates"]),
        Step("migrations", [sys.executable, "manage.py", "makemigrations", "--check", "--dry-run"]),
    ]


def audit_step() -> Step:
    """Return the look at known faults of packages; it warns and never fails."""
    return Step("known faults of packages", [sys.executable, "-m", "tests.audit"])


def test_steps(*, fast: bool) -> list[Step]:
    """List the runs of pytest."""
    workers = str(max(2, min(os.cpu_count() or 2, MOST_WORKERS)))
    pytest = [sys.executable, "-m", "pytest", "-q", "-n", workers, "--dist", "loadgroup"]
    if fast:
        return [
            Step("tests on SQLite, no browser", [*pytest, "--engine=sqlite", "-m", "not browser"])
        ]
    return [
        Step("tests on SQLite", [*pytest, "--engine=sqlite"]),
        Step("tests on PostgreSQL", [*pytest, "--engine=postgresql", "-m", "not own_home"]),
    ]


def run(steps: Iterable[Step]) -> list[str]:
    """Run the steps one after the other; return the names of those that failed.

    What failed so far is said before each step, so that nothing has to be
    said after the last one.
    """
    failed: list[str] = []
    with tempfile.TemporaryDirectory(prefix="fraginv-checks-") as home:
        surroundings = {**os.environ, "FRAGINV_HOME": home}
        surroundings.pop("DATABASE_URL", None)
        for step in steps:
            note = f" (failed so far: {', '.join(failed)})" if failed else ""
            print(f"\n== {step.name}{note}", flush=True)
            started = time.monotonic()
            if subprocess.run(step.command, cwd=ROOT, env=surroundings).returncode:
                failed.append(step.name)
                print(f"== {step.name}: FAILED", file=sys.stderr, flush=True)
            elif not step.name.startswith("tests"):
                print(f"== {step.name}: {time.monotonic() - started:.1f} s", flush=True)
    return failed


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what was asked for; return the exit status."""
    parser = argparse.ArgumentParser(prog="python -m tests", description="Check the project.")
    parser.add_argument(
        "--fast", action="store_true", help="the tests on SQLite only, and without a browser"
    )
    options = parser.parse_args(arguments)
    before = text_steps() if options.fast else [*text_steps(), audit_step()]
    return 1 if run([*before, *test_steps(fast=options.fast)]) else 0


if __name__ == "__main__":
    sys.exit(main())
