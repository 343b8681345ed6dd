"""``card --out FILE``: the measuring card as a PDF, true to size."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.card import BAR, MARKERS, PAPERS
from fraginv.base.writing import write_whole
from fraginv.labels.queries.card import card_pdf, card_printer
from fraginv.labels.rules.card_sheet import card_paper, paper_for


class Command(PlainCommand):
    """Write the measuring card into one file."""

    help = "Makes the measuring card as a PDF, true to size, with a bar to check the printer by."

    def add_options(self, parser: CommandParser) -> None:
        """Declare sheet, printer and file."""
        parser.add_argument(
            "--paper", default="", metavar="SIZE", help=f"{' or '.join(PAPERS)}; by default yours"
        )
        parser.add_argument(
            "--printer", default="", metavar="NAME", help="set right for this printer, measured"
        )
        parser.add_argument("--out", required=True, type=Path, metavar="FILE", help="the PDF")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Make the card and write it.

        Raises: FraginvError; for bad input there is no file.
        """
        paper = card_paper(options["paper"] or paper_for(organisation().paper))
        printer = card_printer(options["printer"]) if options["printer"] else None
        write_whole(options["out"], card_pdf(paper.name, printer=printer))
        lines = [
            f"The measuring card for {paper.name} paper is in {options['out']}.",
            "Print it at 100 %, without “fit to page”, then measure its bar: it is"
            f" {BAR.width_mm:.0f} mm long.",
        ]
        data = {
            "file": str(options["out"]),
            "paper": paper.name,
            "printer": printer.name if printer else None,
            "bar_mm": BAR.width_mm,
            "markers": len(MARKERS),
        }
        return Answer(lines=lines, data=data)
