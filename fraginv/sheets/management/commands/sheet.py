"""``sheet [--for CUSTOMER] [--out FILE]``: what can be had now, as a list or a PDF."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import InputError
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import show_code
from fraginv.base.show import show_day, show_money, show_pieces
from fraginv.base.writing import write_whole
from fraginv.sheets.queries.availability import Availability, availability, reader_named
from fraginv.sheets.queries.papers import sheet_paper
from fraginv.sheets.rules import SheetLine


class Command(PlainCommand):
    """Say what can be had now at somebody's prices."""

    help = "Lists what is for sale now, at a customer's prices; --out makes the PDF."

    def add_options(self, parser: CommandParser) -> None:
        """Declare whom it is for, and the file."""
        parser.add_argument(
            "--for",
            dest="reader",
            default="",
            metavar="CUSTOMER",
            help="a customer's name, or a kind of customer; retail when left out",
        )
        parser.add_argument("--out", type=Path, metavar="FILE", help="the PDF to write")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Read the sheet, and write it to the file that was named.

        Raises: FraginvError; no file is left then.
        """
        out = options["out"]
        if out is not None and out.suffix.lower() != ".pdf":
            raise InputError(f"{out} is no PDF. Name a file that ends in .pdf.")
        found = availability(reader_named(options["reader"]), day=today())
        if out is not None:
            write_whole(out, sheet_paper(found))
        data = found.document() | ({"file": str(out)} if out is not None else {})
        return Answer(lines=list(told(found, out=out)), data=data)


def told(found: Availability, *, out: Path | None) -> Iterator[str]:
    """Yield the sheet as lines of text, then what is left off it and where the PDF is."""
    house = organisation()
    whom = found.reader or f"{found.kind} prices"
    yield f"For sale on {show_day(found.as_of, house)}, {whom}:"
    for line in found.lines:
        price = show_money(line.price, house)
        yield f"  {described(line)}: {show_pieces(line.pieces, house)}, {price} a {line.unit}"
    yield f"In all {show_pieces(found.pieces, house)}. Prices are without sales tax."
    for one in found.missing:
        yield f"Left off, {show_pieces(one.pieces, house)}: {one.why}"
    if out is not None:
        yield f"The sheet is in {out}."


def described(line: SheetLine) -> str:
    """Name a line: variety, size, heads, and the code of a piece sold as pictured."""
    heads = "" if line.heads is None else f"{line.heads} heads"
    code = show_code(line.code) if line.code else ""
    return ", ".join(part for part in (line.name, line.size_name, heads, code) if part)
