"""Merged cells of a workbook's sheet: all but the first of them hold nothing."""

import re
import zipfile
from typing import Final

from fraginv.base.rules.problems import Problem

# Source: ECMA-376 part 1, 18.3.1.55 (mergeCell); text in cells has its brackets escaped.
MERGED: Final = re.compile(rb"<(?:\w+:)?mergeCell\s[^>]*?ref=[\"']([A-Z]+)([0-9]+):([A-Z]+[0-9]+)")
PORTION: Final = 1024 * 1024
LONGEST_TAG: Final = 300


def merged_cells(archive: zipfile.ZipFile, part: str) -> list[Problem]:
    """Return a problem for each range of merged cells in a part of a workbook, in their order."""
    found: dict[str, Problem] = {}
    kept = b""
    with archive.open(part.lstrip("/")) as sheet:
        while portion := sheet.read(PORTION):
            for match in MERGED.finditer(kept + portion):
                column, line, last = (text.decode() for text in match.groups())
                found[f"{column}{line}:{last}"] = Problem(
                    int(line),
                    "",
                    f"the cells {column}{line} to {last} are merged, so only the first of them "
                    "holds anything. Take them apart and write into each what belongs there.",
                )
            kept = portion[-LONGEST_TAG:]
    return sorted(found.values(), key=lambda problem: problem.line)
