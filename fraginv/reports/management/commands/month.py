"""``month YYYY-MM [--basis sales|cash] [--out FILE]``: what a month came to."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import InputError
from fraginv.base.queries.organisation import organisation_kept
from fraginv.base.show import show_money, show_month, show_percent, show_pieces
from fraginv.base.writing import write_whole
from fraginv.reports.queries.months import month_figures, read_past_month
from fraginv.reports.queries.papers import month_csv, month_pdf, month_xlsx
from fraginv.reports.rules.figures import MonthFigures, month_document

KINDS = (".pdf", ".csv", ".xlsx")


class Command(PlainCommand):
    """Say what a month came to."""

    help = "Shows a month: income, tax, running costs, result, and the share carried."

    def add_options(self, parser: CommandParser) -> None:
        """Declare the month, the basis, and the file."""
        parser.add_argument("month", metavar="YYYY-MM", help="such as 2026-11")
        parser.add_argument("--basis", default="sales", metavar="sales|cash", help="sales at first")
        parser.add_argument("--out", type=Path, metavar="FILE", help="a .pdf, .csv or .xlsx file")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Add the month up, and write it to the file that was named.

        Raises: FraginvError; no file is left then.
        """
        out = options["out"]
        if out is not None and out.suffix.lower() not in KINDS:
            raise InputError(f"{out}: name a file that ends in {', '.join(KINDS)}.")
        with organisation_kept():
            month = read_past_month(options["month"])
            figures = month_figures(month, basis=options["basis"])
            if out is not None:
                write_whole(out, as_file(figures, kind=out.suffix.lower()))
            return Answer(lines=list(told(figures, out=out)), data=month_document(figures))


def as_file(figures: MonthFigures, *, kind: str) -> bytes:
    """Return the month as a file of a kind, named by its ending."""
    if kind == ".pdf":
        return month_pdf(figures.month, basis=figures.basis)
    return month_csv(figures) if kind == ".csv" else month_xlsx(figures)


def told(figures: MonthFigures, *, out: Path | None) -> Iterator[str]:
    """Yield the month in lines, the share carried first."""
    with organisation_kept() as house:
        yield f"{show_month(figures.month, house)}, {figures.basis} basis"
        if figures.share_carried is None:
            yield "No running costs are entered, so no share carried can be shown."
        else:
            share = show_percent(figures.share_carried, house)
            yield f"The frags carried {share} of the display's running costs."
        for name, amount in (
            ("Income without tax", figures.net),
            ("Sales tax collected", figures.tax_collected),
            ("Receipts", figures.receipts),
            ("Running costs", figures.running),
            ("Direct costs of the frags", figures.direct),
            ("Result", figures.result),
        ):
            yield f"  {name}: {show_money(amount, house)}"
        frags = figures.frags
        for name, count in (("Cut", frags.cut), ("Lost", frags.lost), ("Sold", frags.sold)):
            yield f"  {name}: {show_pieces(count, house)}"
        yield f"  Ready at the end: {show_pieces(frags.ready_at_end, house)}"
    if out is not None:
        yield f"The month is in {out}."
