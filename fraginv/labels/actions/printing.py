"""Printing labels, and writing down what was printed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.errors import InputError
from fraginv.base.models import Code, Person, PrintedSize
from fraginv.base.paper import make_sure_of_papers
from fraginv.base.queries.organisation import organisation
from fraginv.base.transactions import one_transaction
from fraginv.labels.models import PrintedLabel, PrintRun
from fraginv.labels.queries.labels import codes_to_print, refuse_thrown_away
from fraginv.labels.queries.lost import waiting_for
from fraginv.labels.queries.runs import MOST_LABELS, get_run, run_codes, run_pdf
from fraginv.labels.queries.sizes import modules_at, size_on_paper
from fraginv.labels.queries.stocks import any_stock, set_right, stock_called
from fraginv.labels.rules.forms import FORMS
from fraginv.labels.rules.stocks import LabelStock, check_skip, stock_for_paper

# Each label of a roll is a page of its own: so many take a few seconds.
MOST_ON_A_ROLL = 600


@dataclass(frozen=True)
class Origin:
    """Say of which run, and from which of its labels on, a run prints the same again."""

    run: PrintRun | None = None
    first: int = 1


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
    codes: Sequence[str],
    *,
    by: Person,
    stock: str = "",
    skip: int = 0,
    blank: int | None = None,
    form: str = "",
) -> PrintRun:
    """Write down a printing: labels for codes that there are, then blank ones.

    On each code it is written when and how large it was printed; labels that
    were lost are lost no longer.

    Args: codes as typed or scanned, may be none where ``blank`` is given; that
        many codes are made that belong to nothing yet; the form of the labels,
        by default that of the stock.
    Raises: CodeError, NotFound; InputError unless there are 1 to 5,000 labels
        (600 on a roll) and skip, form and host fit the stock; Conflict for a blank code that was
        thrown away; PaperError, FontMissing when papers cannot be made here.
    Queries: 13, and 3 more per 200 labels.
    """
    make_sure_of_papers()
    chosen = in_form(chosen_stock(stock), form=form)
    check_skip(skip, stock=chosen)
    check_count(len(codes), blank=blank)
    check_roll(len(codes) + (blank or 0), stock=chosen)
    symbol_mm = symbol_on(chosen)
    rows = codes_to_print(codes) if codes else []
    if blank:
        rows += issue_blank_run(blank)
    return write_run(
        rows, stock=chosen, skip=skip, symbol_mm=symbol_mm, ahead=blank or 0, by=by, of=Origin()
    )


@one_transaction
def print_again(run_id: int, *, by: Person, first: int = 1, skip: int = 0) -> PrintRun:
    """Print the labels of a run once more, from one of them on.

    Args: ``first`` counts the run's labels from 1; ``skip`` places of the first
        sheet are gone.
    Raises: NotFound; InputError where the run has no such label, or skip or the
        present host do not fit the stock; Conflict, PaperError as ``start_run``.
    Queries: 11, and 2 more per 200 labels.
    """
    make_sure_of_papers()
    run = get_run(run_id)
    if not 1 <= first <= run.count:
        raise InputError(
            f"This run has labels 1 to {run.count}. Begin again with one of them, not {first}."
        )
    stock = replace(any_stock(run.stock), form=run.form)
    check_skip(skip, stock=stock)
    symbol_mm = symbol_on(stock)
    check_roll(run.count - first + 1, stock=stock)
    rows = run_codes(run, first=first)
    refuse_thrown_away(rows)
    return write_run(
        rows,
        stock=stock,
        skip=skip,
        symbol_mm=symbol_mm,
        ahead=min(run.ahead, len(rows)),
        by=by,
        of=Origin(run, first),
    )


def write_run(
    rows: Sequence[Code],
    *,
    stock: LabelStock,
    skip: int,
    symbol_mm: Decimal,
    ahead: int,
    by: Person,
    of: Origin,
) -> PrintRun:
    """Write down a printing of these codes, for ``start_run`` and ``print_again``."""
    run = PrintRun.objects.create(
        stock=stock.name,
        form=stock.form,
        skip=skip,
        host=organisation().label_host,
        symbol_mm=symbol_mm,
        count=len(rows),
        ahead=ahead,
        again_of=of.run,
        first=of.first,
        by=by,
        at=clock.now(),
    )
    PrintedLabel.objects.bulk_create(
        [PrintedLabel(run=run, position=place, code=code) for place, code in enumerate(rows)],
        batch_size=200,
    )
    note_sizes(run)
    waiting_for(run.labels.values("code")).update(settled_at=run.at, run=run)
    return run


def note_sizes(run: PrintRun) -> None:
    """Keep with each code of a run when it was printed, and how large it came out.

    Queries: 2, and 1 per 200 codes.
    """
    codes, modules = Code.objects.filter(labels__run=run), modules_at(run.host)
    codes.update(printed_at=run.at)
    PrintedSize.objects.bulk_create(
        [
            PrintedSize(code_id=code, symbol_mm=run.symbol_mm, modules=modules, printed_at=run.at)
            for code in codes.values_list("pk", flat=True).distinct()
        ],
        batch_size=200,
        update_conflicts=True,
        unique_fields=["code", "symbol_mm", "modules"],
        update_fields=["printed_at"],
    )


def symbol_on(stock: LabelStock) -> Decimal:
    """Return how wide the symbol on a stock comes out, in mm.

    Raises: InputError where it does not fit, or the stock's printer cannot be set right.
    """
    sent, correction = set_right(stock)
    return size_on_paper(sent, correction=correction, host=organisation().label_host)


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


def check_roll(count: int, *, stock: LabelStock) -> None:
    """Refuse more labels on a roll than can be made while somebody waits.

    Raises: InputError.
    """
    if stock.is_roll and count > MOST_ON_A_ROLL:
        raise InputError(
            f"{count:,} labels on a roll at once: ask for up to {MOST_ON_A_ROLL}, and for the rest"
            " afterwards."
        )


def chosen_stock(name: str) -> LabelStock:
    """Return the stock of that name, or for no name the one for the organisation's paper.

    Raises: InputError for a name that there is not.
    """
    return stock_called(name) if name else stock_for_paper(organisation().paper)


def in_form(stock: LabelStock, *, form: str) -> LabelStock:
    """Return the stock with its labels laid out in a form, its own where none is named.

    Raises: InputError for a form that there is not.
    """
    if not form:
        return stock
    if form not in FORMS:
        raise InputError(f"There is no form “{form}”. Use one of: {', '.join(FORMS)}.")
    return replace(stock, form=form)
