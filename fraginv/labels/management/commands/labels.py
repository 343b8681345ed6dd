"""``labels CODE… --out FILE``: label sheets as a PDF, true to size."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.rules.codes import show_code
from fraginv.base.writing import written_whole
from fraginv.labels.actions.printing import start_run
from fraginv.labels.models import PrintRun
from fraginv.labels.queries.runs import run_codes, run_pdf, stock_of
from fraginv.labels.rules.forms import FORMS
from fraginv.labels.rules.stocks import STOCKS


class Command(PlainCommand):
    """Print labels for codes, blank ones, or both, into one file."""

    help = "Makes label sheets as a PDF: for the codes given, and blank ones with --blank."

    def add_options(self, parser: CommandParser) -> None:
        """Declare codes, blank labels, stock, places to skip, and the file."""
        parser.add_argument("codes", nargs="*", metavar="CODE", help="such as 7K3-Q9F-N")
        parser.add_argument("--blank", type=int, metavar="N", help="blank labels to print ahead")
        parser.add_argument(
            "--stock", default="", metavar="NAME", help=f"{', '.join(STOCKS)}, or one of your own"
        )
        parser.add_argument("--form", default="", metavar="FORM", help=", ".join(FORMS))
        parser.add_argument(
            "--skip", type=int, default=0, metavar="N", help="labels gone from the first sheet"
        )
        parser.add_argument("--out", required=True, type=Path, metavar="FILE", help="the PDF")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Write down the printing and make the sheets once the file is sure.

        Raises: FraginvError; for bad input neither file nor row is left.
        """
        with written_whole(options["out"]) as draft:
            run = start_run(
                options["codes"],
                blank=options["blank"],
                by=self.acting_person(),
                stock=options["stock"],
                skip=options["skip"],
                form=options["form"],
            )
            draft.write_bytes(run_pdf(run))
        return answer_for(run, out=options["out"])


def answer_for(run: PrintRun, *, out: Path) -> Answer:
    """Say what was printed, how large, and where the file lies."""
    stock = stock_of(run)
    sheets = stock.place(run.skip + run.count - 1).sheet + 1
    codes = run_codes(run)
    lines = [
        f"{counted(run.count, 'label')} on {counted(sheets, stock.unit)}: {stock.title}.",
        f"Each QR code is {run.symbol_mm} mm wide. Print at true size.",
    ]
    if run.ahead:
        first, last = codes[run.count - run.ahead].pk, codes[-1].pk
        lines.append(f"Blank: {show_code(first)} to {show_code(last)}.")
    lines.append(f"The labels are in {out}.")
    data = {
        "file": str(out),
        "run": run.pk,
        "stock": run.stock,
        "form": run.form,
        "skip": run.skip,
        "sheets": sheets,
        "symbol_mm": str(run.symbol_mm),
        "codes": [code.pk for code in codes],
        "blank": [code.pk for code in codes[run.count - run.ahead :]],
    }
    return Answer(lines=lines, data=data)


def counted(number: int, noun: str) -> str:
    """Count things in words: ``1 label``, ``2 labels``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
