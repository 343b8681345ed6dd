"""What benches of papers share: turns of product and floor, peaks, and the floor's PDF."""

import argparse
import io
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

import django
import pydyf

R = TypeVar("R")
Work = Callable[[list[R]], bytes]


def run(
    module: str,
    report: Callable[[int], None],
    *,
    rows: Callable[[int], list[R]],
    works: Sequence[Work[R]],
    rounds: int,
) -> None:
    """Warm up and report, in a home of its own; with ``--peak`` only take one run's memory.

    Args: ``works`` are the product and the floor; ``report`` gets the rounds asked for.
    """
    parser = argparse.ArgumentParser(prog=f"python -m {module}")
    parser.add_argument("--peak", type=int, help="print the peak memory of so many rows in MB")
    parser.add_argument("--rounds", type=int, default=rounds)
    options = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fraginv.settings")
    with tempfile.TemporaryDirectory(prefix="fraginv-bench-") as folder:
        os.environ["FRAGINV_HOME"] = folder
        django.setup()
        if options.peak:
            works[0](rows(options.peak))
            say(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
            return
        # The first paper of a process loads libraries and fonts, once.
        for work in works:
            work(rows(1))
        report(options.rounds)


def compare(rows: list[R], works: Sequence[Work[R]], *, rounds: int) -> tuple[float, float]:
    """Let product and floor take turns; return the medians of their CPU times in ms."""
    turns = [[cpu(work, rows) for work in works] for _ in range(rounds)]
    ours, least = (statistics.median(side) for side in zip(*turns, strict=True))
    return ours, least


def cpu(work: Work[R], rows: list[R]) -> float:
    """Return the CPU time of one run in ms."""
    start = time.process_time()
    work(rows)
    return (time.process_time() - start) * 1000


def peak_mb(module: str, count: int) -> float:
    """Return the most memory that a process of its own takes for so many rows."""
    command = [sys.executable, "-m", module, "--peak", str(count)]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


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
