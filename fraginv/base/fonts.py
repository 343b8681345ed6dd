"""Fonts for papers: found among those installed, cut to Latin once, kept in the home.

A whole family takes WeasyPrint a tenth of a second for every paper, however
short. So the letters that papers need are cut out of an installed family with
fontTools at the first paper and kept under ``FRAGINV_HOME/fonts``. Letters
outside the cut (Greek, Cyrillic, …) come from the installed fonts as before.
"""

import hashlib
import os
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

from fraginv.base.errors import FraginvError

# A service's user may have no home folder; then "~" stays as it is and holds nothing.
OWN = Path(os.path.expanduser("~"))

# Where systems keep fonts; the first folder that has a face wins.
FOLDERS: tuple[Path, ...] = (
    OWN / ".local/share/fonts",
    OWN / ".fonts",
    Path("/usr/local/share/fonts"),
    Path("/usr/share/fonts"),
    OWN / "Library/Fonts",
    Path("/Library/Fonts"),
    Path("/opt/homebrew/share/fonts"),
    Path("C:/Windows/Fonts"),
)

# Latin with its marks, punctuation, currency signs, arrows and signs of reckoning.
LETTERS: tuple[range, ...] = (
    range(0x20, 0x7F),
    range(0xA0, 0x250),
    range(0x2010, 0x2028),
    range(0x2030, 0x203B),
    range(0x20A0, 0x20C1),
    range(0x2190, 0x2194),
)
SIGNS = (0x2116, 0x2122, 0x2192, 0x2212, 0x2248, 0x2264, 0x2265)
FEATURES = ["kern", "mark", "mkmk", "ccmp", "locl", "calt", "tnum", "lnum", "zero", "case", "ss01"]

# Changes whenever what is cut out changes, so that old cuts are not used again.
RECIPE = "1"


class FontMissing(FraginvError):
    """No font family that papers can use is installed."""

    code = "font_missing"
    status = 500


@dataclass(frozen=True)
class Family:
    """Name the files of one font family by weight, each under every name it is known by."""

    name: str
    faces: tuple[tuple[int, tuple[str, ...]], ...]


FAMILIES = (
    Family(
        "Inter",
        (
            (400, ("Inter-Regular.otf", "Inter-Regular.ttf")),
            (600, ("Inter-SemiBold.otf", "Inter-SemiBold.ttf")),
        ),
    ),
    Family(
        "DejaVu Sans",
        ((400, ("DejaVuSans.ttf",)), (600, ("DejaVuSans-Bold.ttf",))),
    ),
)


def installed_faces(folders: Sequence[Path] | None = None) -> dict[int, Path]:
    """Return the files of the first family that is complete, by weight.

    Args: the folders to look in; where systems keep fonts when left out.
    Raises: FontMissing when there is none.
    """
    for family in FAMILIES:
        files = {weight: find_file(names, folders or FOLDERS) for weight, names in family.faces}
        if all(files.values()):
            return {weight: file for weight, file in files.items() if file}
    names = " or ".join(family.name for family in FAMILIES)
    raise FontMissing(
        f"No font for papers is installed: {names}. Run .ci/setup, or install the font: on Debian"
        " and Ubuntu the package fonts-inter (or fonts-dejavu-core); on other systems put the"
        " family's files into your fonts folder."
    )


def find_file(names: Sequence[str], folders: Sequence[Path]) -> Path | None:
    """Return the first file with one of these names under the folders, or None."""
    for folder in folders:
        for name in names:
            for file in sorted(folder.rglob(name)):
                return file
    return None


def paper_faces(home: Path) -> dict[int, Path]:
    """Return the cut faces by weight; make those that are not there yet.

    Raises: FontMissing when no family is installed; OSError when the home
        cannot be written.
    """
    keep = home / "fonts"
    return {weight: cut_face(file, keep) for weight, file in installed_faces().items()}


def cut_face(source: Path, keep: Path) -> Path:
    """Return the Latin cut of one font file, made at the first call.

    The same source gives the same bytes, so that papers made anew are the same.
    """
    status = source.stat()
    mark = f"{RECIPE}:{source}:{status.st_size}:{status.st_mtime_ns}"
    digest = hashlib.sha256(mark.encode()).hexdigest()[:12]
    target = keep / f"{source.stem}-{digest}{source.suffix}"
    if target.exists():
        return target
    keep.mkdir(parents=True, exist_ok=True)
    options = subset.Options(
        layout_features=FEATURES,
        hinting=False,
        desubroutinize=True,
        notdef_outline=True,
        recalc_timestamp=False,
        name_IDs=[1, 2, 3, 4, 5, 6],
    )
    # A font editor's time stamp, of no use to anybody.
    options.drop_tables += ["FFTM"]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[*(point for part in LETTERS for point in part), *SIGNS])
    draft = target.with_name(f"{target.name}.{os.getpid()}.{secrets.token_hex(4)}")
    with subset.load_font(str(source), options) as font:
        cutter.subset(font)
        subset.save_font(font, str(draft), options)
    os.replace(draft, target)
    return target


def text_width(text: str, *, face: Path) -> float:
    """Return how wide a text runs in a cut face, in ems; kerning is left out.

    A letter that the face lacks counts as one em, which few fall-back letters exceed.
    """
    widths = advances(face)
    return sum(widths.get(ord(letter), 1.0) for letter in text)


@lru_cache(maxsize=8)
def advances(face: Path) -> dict[int, float]:
    """Return the advance of each letter of a face in ems."""
    with TTFont(face, lazy=True) as font:
        unit = font["head"].unitsPerEm
        glyphs = font["hmtx"].metrics
        return {point: glyphs[name][0] / unit for point, name in font.getBestCmap().items()}
