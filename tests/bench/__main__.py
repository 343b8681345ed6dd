"""Run every bench in turn and print one table: ``python -m tests.bench``.

Each bench runs in a process and a home of its own. What else is given goes to
each of them, such as ``--rounds 3``.
"""

import os
import subprocess
import sys
from collections.abc import Iterator, Sequence

from tests.bench.measuring import say
from tests.bench.table import Row, from_line, markdown

MODULES = ("labels", "sheet", "pages", "data", "photo")


def rows_of(module: str, options: Sequence[str]) -> Iterator[Row]:
    """Yield the rows of one bench as they come.

    Raises: SystemExit when the bench fails; what it said stands on standard error.
    """
    command = [sys.executable, "-m", f"tests.bench.{module}", "--json", *options]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as bench:
        assert bench.stdout is not None
        yield from map(from_line, bench.stdout)
    if bench.returncode:
        raise SystemExit(f"{module} failed with status {bench.returncode}")


def main(options: Sequence[str]) -> None:
    """Measure all and print as each figure comes, with the machine's load around it."""
    say(f"load before: {load()}")
    for line in markdown(row for module in MODULES for row in rows_of(module, options)):
        say(line)
    say(f"load after: {load()}")


def load() -> str:
    """Return how many processes wanted a core, over 1, 5 and 15 minutes."""
    return " ".join(f"{each:.1f}" for each in os.getloadavg())


if __name__ == "__main__":
    main(sys.argv[1:])
