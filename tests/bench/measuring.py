"""What benches share: a home of their own, turns of product and floor, peaks, a floor's PDF."""

import argparse
import io
import os
import re
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

import django
import pydyf
from django.db import connections

from tests.bench.table import Row, as_line, markdown

R = TypeVar("R")
Work = Callable[[list[R]], object]


@dataclass(frozen=True)
class Asked:
    """What whoever runs a bench asked for."""

    rounds: int
    engine: str


def run(
    module: str,
    rows: Callable[[Asked], Iterable[Row]],
    *,
    rounds: int,
    peak: Callable[[int], object] | None = None,
) -> None:
    """Measure in a home of its own, and print the rows as they come.

    With ``--json`` each row is one line of JSON, for ``python -m tests.bench``;
    with ``--peak N`` only ``peak(N)`` runs, and its process's memory is printed.

    Args: ``rounds`` are the turns of product and floor unless others are asked for.
    """
    parser = argparse.ArgumentParser(prog=f"python -m {module}")
    parser.add_argument("--peak", type=int, help="print the peak memory of so many rows in MB")
    parser.add_argument("--rounds", type=int, default=rounds)
    parser.add_argument("--engine", choices=["sqlite", "postgresql"], default="sqlite")
    parser.add_argument("--json", action="store_true", help="one line of JSON a row")
    options = parser.parse_args()
    with home_at(options.engine):
        if options.peak and peak:
            peak(options.peak)
            say(most_memory_mb())
            return
        found = rows(Asked(rounds=options.rounds, engine=options.engine))
        for line in map(as_line, found) if options.json else markdown(found):
            say(line)


@contextmanager
def home_at(engine: str) -> Iterator[Path]:
    """Set Django up in an empty home; PostgreSQL is a server of the bench's own."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory(prefix="fraginv-bench-")))
        # The server runs as another user where this process is root.
        folder.chmod(0o711)
        os.environ["FRAGINV_HOME"] = str(folder)
        os.environ.pop("DATABASE_URL", None)
        if engine == "postgresql":
            from tests.postgres import Server

            server = Server(folder / "server")
            server.start()
            stack.callback(server.stop)
            os.environ["DATABASE_URL"] = server.url
        django.setup()
        stack.callback(connections.close_all)
        yield folder


def compare(rows: list[R], works: Sequence[Work[R]], *, rounds: int) -> list[float]:
    """Let product and floors take turns; return the median of each one's CPU times in ms."""
    for work in works:
        # The first of a kind loads libraries, fonts and templates.
        work(rows[:1])
    turns = [[cpu(work, rows) for work in works] for _ in range(rounds)]
    return [statistics.median(side) for side in zip(*turns, strict=True)]


def cpu(work: Work[R], rows: list[R]) -> float:
    """Return the CPU time of one run in ms."""
    start = time.process_time()
    work(rows)
    return (time.process_time() - start) * 1000


def peak_mb(module: str, count: int) -> float:
    """Return the most memory that a process of its own takes for so many rows."""
    command = [sys.executable, "-m", module, "--peak", str(count)]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def most_memory_mb() -> float:
    """Return the most memory that this process took.

    Linux keeps it in VmHWM; what ``getrusage`` says there begins with the size of the
    process that started this one.
    """
    status = Path("/proc/self/status")
    if status.exists():
        found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text())
        return int(found[1]) / 1024 if found else 0.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def say(text: object) -> None:
    """Write one line for the reader of the figures."""
    sys.stdout.write(f"{text}\n")


class FloorPDF:
    """A PDF of nothing but operators and pictures, in a built-in font."""

    def __init__(self, width: int, height: int) -> None:
        self.size = pydyf.Array([0, 0, width, height])
        self.pdf = pydyf.PDF()
        self.font = pydyf.Dictionary(
            {"Type": "/Font", "Subtype": "/Type1", "BaseFont": "/Helvetica"}
        )
        self.pdf.add_object(self.font)

    def add_page(self, operators: Iterable[bytes], pictures: Iterable[pydyf.Stream] = ()) -> None:
        """Write a page; its pictures are named I0, I1, …"""
        named = pydyf.Dictionary()
        for place, picture in enumerate(pictures):
            self.pdf.add_object(picture)
            named[f"I{place}"] = picture.reference
        stream = pydyf.Stream(compress=True)
        stream.stream.extend(operators)
        self.pdf.add_object(stream)
        fonts = pydyf.Dictionary({"F1": self.font.reference})
        page = {
            "Type": "/Page",
            "Parent": self.pdf.pages.reference,
            "MediaBox": self.size,
            "Contents": stream.reference,
            "Resources": pydyf.Dictionary({"Font": fonts, "XObject": named}),
        }
        self.pdf.add_page(pydyf.Dictionary(page))

    def written(self) -> bytes:
        """Return the file."""
        buffer = io.BytesIO()
        self.pdf.write(buffer)
        return buffer.getvalue()
