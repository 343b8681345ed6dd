"""What grows with the house: the same cases with ten thousand and a million frags.

``python -m tests.bench.data``; a house of a million takes some minutes to build.
Each size is measured in a process and a house of its own. Pages and look-ups
are held against the small house, months against raw sums in the same one.
"""

import json
import subprocess
import sys
from collections.abc import Iterator

from tests.bench.measuring import Asked, run
from tests.bench.table import Row

MODULE = "tests.bench.data"
SMALL, MIDDLE, BIG = 10_000, 100_000, 1_000_000
LOOK_UP_GOAL = 1.3
PAGE_GOAL = 1.5
MONTH_GOAL = 3.0
YEARS_GOAL = 1.5
SEARCH_GOAL_MS = 1.0
SALE_GOAL = 1.5


def rows(asked: Asked) -> Iterator[Row]:
    """Measure houses of two sizes; the floor of what must not grow is the small one."""
    small, big = (inside(frags, asked) for frags in (SMALL, BIG))
    size = f"{BIG // 1000}k : {SMALL // 1000}k frags"
    for case in big:
        if case.startswith(("page: ", "look-up")):
            goal = PAGE_GOAL if "page: " in case and "scan" not in case else LOOK_UP_GOAL
            yield Row(case, size, big[case], small[case], goal)
    yield from months(big)
    for case in (case for case in big if case.startswith("search")):
        yield Row(case, "20k names", big[case], goal=SEARCH_GOAL_MS)
    for name, found in (("10k", small), ("1000k", big)):
        floor = found["sale, floor"]
        yield Row("sale for cash", f"{name} frags", found["sale, wall"], floor, SALE_GOAL, "ms")
        alone = found.get("sale, statements alone")
        yield Row("sale for cash, over its SQL", f"{name} frags", found["sale, CPU"], alone)
        yield Row("sale for cash", f"{name} frags", found["sale, statements"], unit="statements")
    yield Row("verify", "100k frags", inside(MIDDLE, asked, "--verify")["verify"])


def months(found: dict[str, float]) -> Iterator[Row]:
    """Hold a month and ten years against raw sums over a covering index."""
    least, parts = found["one month, floor"], found["one month in its parts, floor"]
    size = "1000k lines"
    yield Row("one month, sales : one sum", size, found["one month, sales"], least, MONTH_GOAL)
    yield Row("one month, all figures : one sum", size, found["one month, all figures"], least)
    yield Row(
        "one month, all figures : in parts",
        size,
        found["one month, all figures"],
        parts,
        MONTH_GOAL,
    )
    yield Row("ten years", size, found["ten years"], found["ten years, floor"], YEARS_GOAL)


def inside(frags: int, asked: Asked, *options: str) -> dict[str, float]:
    """Measure one house in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.inside", "--frags", str(frags)]
    command += ["--rounds", str(asked.rounds), "--engine", asked.engine, *options]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


if __name__ == "__main__":
    run(MODULE, rows, rounds=7)
