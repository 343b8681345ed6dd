"""Printing labels, and writing down what was printed."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import InputError
from fraginv.base.models import Code, Person
from fraginv.base.paper import make_sure_of_papers
from fraginv.base.queries.organisation import organisation
from fraginv.base.transactions import one_transaction
from fraginv.labels.models import PrintedLabel, PrintRun
from fraginv.labels.queries import MOST_LABELS, codes_to_print, run_pdf
from fraginv.labels.rules.fitting import fit_symbol
from fraginv.labels.rules.stocks import LabelStock, check_skip, stock_for_paper, stock_named

CENT = Decimal("0.01")


def print_labels(codes: Sequence[str], *, by: Person, stock: str = "", skip: int = 0) -> bytes:
    """Print labels for codes that there are; return the sheets as a PDF.

    Args: codes as typed or scanned; the stock's name, by default the one for
        the organisation's paper; ``skip`` places of the first sheet are gone.
    Raises: as ``start_run``.
    """
    return run_pdf(start_run(codes, by=by, stock=stock, skip=skip))


def print_blank(count: int, *, by: Person, stock: str = "", skip: int = 0) -> bytes:
    """Make codes that belong to nothing yet; return their labels as a PDF.

    Raises: as ``start_run``.
    """
    return run_pdf(start_run((), blank=count, by=by, stock=stock, skip=skip))


@one_transaction
def start_run(
    codes: Sequence[str], *, by: Person, stock: str = "", skip: int = 0, blank: int | None = None
) -> PrintRun:
    """Write down a printing: labels for codes that there are, then blank ones.

    On each code it is written when and how large it was printed.

    Args: codes as typed or scanned, may be none where ``blank`` is given; that
        many codes are made that belong to nothing yet.
    Raises: CodeError, NotFound; InputError unless there are 1 to 5,000 labels
        and skip and host fit the stock; PaperError, FontMissing when papers
        cannot be made here.
    Queries: 10, and 3 more per 200 labels.
    """
    make_sure_of_papers()
    chosen = chosen_stock(stock)
    house = organisation()
    check_skip(skip, stock=chosen)
    check_count(len(codes), blank=blank)
    fit = fit_symbol(chosen, host=house.label_host)
    rows = codes_to_print(codes) if codes else []
    if blank:
        rows += issue_blank_run(blank)
    run = PrintRun.objects.create(
        stock=chosen.name,
        skip=skip,
        host=house.label_host,
        symbol_mm=Decimal(fit.symbol_mm).quantize(CENT, ROUND_HALF_UP),
        count=len(rows),
        ahead=blank or 0,
        by=by,
        at=clock.now(),
    )
    PrintedLabel.objects.bulk_create(
        [PrintedLabel(run=run, position=place, code=code) for place, code in enumerate(rows)],
        batch_size=200,
    )
    Code.objects.filter(labels__run=run).update(printed_at=run.at, symbol_mm=run.symbol_mm)
    return run


def check_count(codes: int, *, blank: int | None) -> None:
    """Refuse to print nothing, or more than 5,000 labels at once.

    Raises: InputError.
    """
    if blank is not None and not 1 <= blank <= MOST_LABELS:
        raise InputError(f"{blank} blank labels at once: ask for 1 to {MOST_LABELS:,}.")
    if not codes and not blank:
        raise InputError("No labels were asked for. Give a code, or ask for blank labels.")
    if codes + (blank or 0) > MOST_LABELS:
        raise InputError(f"{codes + (blank or 0)} labels at once: ask for 1 to {MOST_LABELS:,}.")


def chosen_stock(name: str) -> LabelStock:
    """Return the stock of that name, or for no name the one for the organisation's paper.

    Raises: InputError for a name that there is not.
    """
    return stock_named(name) if name else stock_for_paper(organisation().paper)
