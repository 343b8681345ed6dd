"""``read PHOTO…``: which labels photos show and how large their frags are; files nothing."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.db import OperationalError, ProgrammingError

from fraginv.base.commands import Answer, PlainCommand, is_database_missing
from fraginv.base.errors import FraginvError, InputError
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.growth.queries.told import Known, known_codes, opened, told_of
from fraginv.growth.rules.drawn import said_area
from fraginv.growth.rules.problems import Problem
from fraginv.growth.rules.told import Asked, FragTold, PhotoTold, read_outlines

UNREAD = "not-a-picture"
MOST_HEIGHT_MM, MOST_SYMBOL_MM = 150.0, 200.0


class Command(PlainCommand):
    """Read photos and measure the frags in them."""

    help = "Reads the labels in photos and measures their frags; nothing is filed."
    needs_database = False

    def add_options(self, parser: CommandParser) -> None:
        """Declare the photos and how they are measured."""
        parser.add_argument("photos", nargs="+", type=Path, metavar="PHOTO")
        parser.add_argument(
            "--height", type=float, metavar="MM", help="of the widest part above card or label"
        )
        parser.add_argument("--outline", type=Path, metavar="FILE", help="outlines as JSON")
        parser.add_argument(
            "--symbol-mm", type=float, metavar="MM", help="width of the label's QR symbol"
        )

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Read each photo; one that cannot be read is told among the others.

        Raises: InputError where an option makes no sense, or no photo could be read.
        """
        asked = asked_for(options)
        told = [read_photo(path, asked=asked) for path in options["photos"]]
        lines = [line for photo in told for line in lines_of(photo)]
        unread = [photo for photo in told if is_unread(photo)]
        return Answer(
            lines=lines,
            data=[photo.as_dict() for photo in told],
            failed=f"{len(unread)} of {len(told)} photos could not be read." if unread else "",
        )


def asked_for(options: Mapping[str, Any]) -> Asked:
    """Return how photos are to be measured.

    Raises: InputError.
    """
    height, symbol, path = options["height"], options["symbol_mm"], options["outline"]
    if height is not None and not 0 <= height <= MOST_HEIGHT_MM:
        raise InputError(f"--height {height:g}: give 0 to {MOST_HEIGHT_MM:g} mm.")
    if symbol is not None and not 0 < symbol <= MOST_SYMBOL_MM:
        raise InputError(f"--symbol-mm {symbol:g}: give the width of one symbol in mm.")
    if path is None:
        return Asked(height, symbol)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path} cannot be read. Give a file with outlines as JSON.") from error
    return Asked(height, symbol, read_outlines(text))


def read_photo(path: Path, *, asked: Asked) -> PhotoTold:
    """Read and measure one photo; what is wrong with it is told."""
    try:
        data = path.read_bytes()
    except OSError as error:
        said = f"{path} cannot be read: {error.strerror}. Look at the name and try again."
        return PhotoTold(path.name, problems=[Problem(UNREAD, said, stops=True)])
    try:
        photo = opened(data, zone=zone_here())
        known = known_here([label.code for label in photo.labels])
        return told_of(photo, name=path.name, asked=asked, known=known)
    except FraginvError as error:
        return PhotoTold(path.name, problems=[Problem(UNREAD, error.message, stops=True)])


def is_unread(photo: PhotoTold) -> bool:
    """Tell whether a photo could not even be opened."""
    return any(problem.code == UNREAD for problem in photo.problems)


def zone_here() -> str:
    """Return the organisation's time zone, or UTC where there is none yet."""
    if is_database_missing():
        return "UTC"
    try:
        return organisation().zone
    except (OperationalError, ProgrammingError, FraginvError):
        return "UTC"


def known_here(codes: list[str]) -> dict[str, Known]:
    """Return what is known of codes; where there is no database yet, any may be ours."""
    any_of_them = dict.fromkeys(codes, Known())
    if is_database_missing():
        return any_of_them
    try:
        return known_codes(codes)
    except (OperationalError, ProgrammingError):
        return any_of_them


def lines_of(photo: PhotoTold) -> list[str]:
    """Say in words what a photo told."""
    codes = ", ".join(show_code(code) for code in photo.codes) or "no label"
    return [
        f"{photo.file}: {codes}",
        *(f"  {line_of(frag)}" for frag in photo.frags),
        *(f"  {problem.text}" for problem in photo.problems),
    ]


def line_of(frag: FragTold) -> str:
    """Say how large a frag is, by what, and how its outline was come by."""
    height = "not corrected for height" if frag.height_mm is None else f"at {frag.height_mm:g} mm"
    return (
        f"{show_code(frag.code) if frag.code else 'the frag'}: {frag.diameter_mm:.1f} mm across,"
        f" {said_area(frag.area_mm2, sigma_mm2=frag.sigma_area_mm2)}, {height},"
        f" by the {frag.scale}, outline {frag.outline_by}"
    )
