"""Print runs, and their sheets as PDF."""

from collections.abc import Sequence
from dataclasses import replace

from django.db.models import QuerySet

from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import Code
from fraginv.base.paper import paper_width, render_pdf
from fraginv.base.queries.organisation import organisation
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.codes import show_code
from fraginv.labels.models import PrintRun
from fraginv.labels.queries.labels import code_since, labels_for, with_codes_now
from fraginv.labels.queries.sizes import refuse_other_size, size_on_paper
from fraginv.labels.queries.stocks import any_stock, set_right
from fraginv.labels.rules.fitting import fit_symbol
from fraginv.labels.rules.layout import lay_out
from fraginv.labels.rules.stocks import LabelStock, check_skip

MOST_LABELS = 5_000
RUNS_ON_A_PAGE = 40
ONLY_READ = "too fine to measure photographs by: use the measuring card"


def measure(text: str, weight: int) -> float:
    """Return how wide a text runs in the papers' font, in ems."""
    return paper_width(text, weight=weight)


def sheet_pdf(codes: Sequence[Code], *, stock: LabelStock, skip: int, host: str) -> bytes:
    """Return label sheets for these codes as a PDF, true to size; a roll has a page a label.

    Args: the stock as it must be sent to its printer.
    Raises: InputError when the host is too long for the stock or the skip too
        large; PaperError when papers cannot be made.
    Queries: 5 at most.
    """
    check_skip(skip, stock=stock)
    layout = lay_out(labels_for(codes), stock=stock, skip=skip, host=host, measure=measure)
    return render_pdf(
        "labels/paper_labels.html",
        {"layout": layout},
        finisher=lambda page: layout.sheets[page].drawing,
        tagged=False,
    )


def run_pdf(run: PrintRun) -> bytes:
    """Return the sheets of a print run, with the words, measures and printer as they are now.

    Raises: as ``sheet_pdf``, where the stock was changed since; Conflict where the symbols
        would no longer come out as wide as is kept of them.
    Queries: 7 at most.
    """
    stock, correction = set_right(stock_of(run))
    refuse_other_size(run, now_mm=size_on_paper(stock, correction=correction, host=run.host))
    return sheet_pdf(run_codes(run), stock=stock, skip=run.skip, host=run.host)


def stock_of(run: PrintRun) -> LabelStock:
    """Return the stock of a run, in the run's form.

    Queries: 1 at most.
    """
    return replace(any_stock(run.stock), form=run.form)


def run_codes(run: PrintRun, *, first: int = 1) -> list[Code]:
    """Return the codes of a print run in the order of its labels, from number ``first`` on.

    For one that a frag had before stands the one that it has now.
    Queries: 1, and 1 more where a frag has another code now.
    """
    labels = run.labels.select_related("code").filter(position__gte=first - 1)
    labels = labels.annotate(since=code_since("code")).order_by("position")
    return with_codes_now([(label.code, label.since) for label in labels])


def get_run(run_id: int) -> PrintRun:
    """Return a print run.

    Raises: NotFound.
    Queries: 1.
    """
    found = PrintRun.objects.select_related("by", "again_of").filter(pk=run_id).first()
    if found is None:
        raise NotFound("There is no such print run.")
    return found


def place_in_run(run: PrintRun, *, code: str) -> int:
    """Return which label of a run a code is, counted from 1.

    Raises: NotFound where the run has no such code.
    Queries: 1.
    """
    found = run.labels.filter(code=code).order_by("position").first()
    if found is None:
        raise NotFound(f"{show_code(code)} is not in this run. Look at the label again.")
    return found.position + 1


def ends_of(run: PrintRun) -> tuple[str, str]:
    """Return the first and the last code of a run.

    Queries: 1.
    """
    ends = run.labels.filter(position__in=(0, run.count - 1)).order_by("position")
    codes = list(ends.values_list("code_id", flat=True))
    return codes[0], codes[-1]


def latest_runs() -> QuerySet[PrintRun]:
    """Return the ten latest print runs.

    Queries: 1.
    """
    return PrintRun.objects.select_related("by").order_by("-pk")[:10]


def run_list(*, after: int | None = None, size: int = RUNS_ON_A_PAGE) -> Portion[PrintRun]:
    """Return a page of all print runs, the latest first.

    Queries: 1, and 1 more from the second page on.
    """
    runs = PrintRun.objects.select_related("by")
    return portion_of(runs, order=("-pk",), size=size, after=after)


def what_host_gives(stocks: Sequence[LabelStock]) -> list[tuple[str, str]]:
    """Say for each stock how large the QR code is, and from how far a phone reads it.

    Queries: as ``organisation``.
    """
    host = organisation().label_host
    return [
        (stock.paper if stock.is_of_the_house else stock.name, what_fits(stock, host=host))
        for stock in stocks
    ]


def what_fits(stock: LabelStock, *, host: str) -> str:
    """Say how large the QR code on a stock is, and from how far a phone reads it."""
    try:
        fit = fit_symbol(stock, host=host)
    except InputError as error:
        return error.message
    by_it = "photographs can be measured by it" if fit.can_measure else ONLY_READ
    return f"{fit.symbol_mm:.1f} mm wide, reads from about {fit.reach_cm} cm; {by_it}"
