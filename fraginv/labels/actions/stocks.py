"""Writing down stocks of the organisation's own, printers, and how both are set right."""

from dataclasses import asdict

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.transactions import one_transaction
from fraginv.labels.models import Adjustment, OwnStock, Printer
from fraginv.labels.queries.stocks import (
    any_stock,
    columns_of,
    correction_for,
    get_own,
    get_printer,
    stocks_on,
)
from fraginv.labels.rules.fitting import fit_symbol
from fraginv.labels.rules.forms import FORMS
from fraginv.labels.rules.measures import StockMeasures, check_stock, read_stock_name, stock_from
from fraginv.labels.rules.printers import (
    LEAST_DPI,
    MOST_DPI,
    Check,
    Measures,
    check_measures,
    check_offset,
    corrected,
)

LONGEST_NAME = 40


@one_transaction
def add_stock(name: str, *, measures: StockMeasures, form: str, by: Person) -> OwnStock:
    """Write down a label sheet or roll that the organisation uses.

    Raises: InputError for a name that cannot be typed, labels that overlap, lie
        off the page, or are too small for the form; Conflict for a name in use.
    Queries: 2.
    """
    name = read_stock_name(name)
    check_use(measures, name=name, form=form)
    if OwnStock.objects.filter(name=name).exists():
        raise Conflict(f"There is a stock {name} already. Change that one, or choose another name.")
    return OwnStock.objects.create(
        name=name, form=form, made_at=clock.now(), by=by, **columns_of(measures)
    )


@one_transaction
def change_stock(name: str, *, measures: StockMeasures, form: str, by: Person) -> None:
    """Write down other measures for one of the organisation's stocks.

    Raises: NotFound; InputError as ``add_stock``.
    Queries: 2.
    """
    own = get_own(name)
    check_use(measures, name=name, form=form)
    OwnStock.objects.filter(pk=own.pk).update(
        form=form, made_at=clock.now(), by=by, **columns_of(measures)
    )


def check_use(measures: StockMeasures, *, name: str, form: str) -> None:
    """Refuse a stock on which nothing can be printed.

    Raises: InputError.
    """
    if form not in FORMS:
        raise InputError(f"There is no form “{form}”. Use one of: {', '.join(FORMS)}.")
    check_stock(measures)
    stock = stock_from(measures, name=name, form=form)
    fit_symbol(stock, host=organisation().label_host)


@one_transaction
def withdraw_stock(name: str, *, by: Person, again: bool = False) -> None:
    """Offer a stock no longer, or again; runs that were printed on it stay as they are.

    Raises: NotFound.
    Queries: 2.
    """
    own = get_own(name)
    at = None if again else clock.now()
    OwnStock.objects.filter(pk=own.pk).update(withdrawn_at=at, by=by)


@one_transaction
def adjust_stock(
    name: str, *, by: Person, printer_id: int | None, right_tenths: int = 0, down_tenths: int = 0
) -> Adjustment:
    """Say on which printer a stock is printed, and how far all on it is to be moved.

    Args: tenths of a millimetre, to the right and down; less than 0 to the left and up.
    Raises: NotFound; InputError for more than a centimetre, or where labels
        would be cut off; Conflict for a printer that is used no more.
    Queries: 5 at most.
    """
    stock = any_stock(name)
    check_offset(right_tenths, down_tenths=down_tenths)
    printer = get_printer(printer_id) if printer_id is not None else None
    if printer is not None and printer.withdrawn_at is not None:
        raise Conflict(f"{printer.name} is used no more. Choose another printer.")
    values = {"printer": printer, "right_tenths": right_tenths, "down_tenths": down_tenths}
    corrected(stock, correction=correction_for(Adjustment(stock=stock.name, **values)))
    adjustment, _ = Adjustment.objects.update_or_create(stock=stock.name, defaults=values)
    return adjustment


@one_transaction
def add_printer(name: str, *, by: Person, dpi: int = 300) -> Printer:
    """Write down a printer, not measured yet.

    Args: ``dpi`` how many dots it prints to the inch.
    Raises: InputError for a name or dots that cannot be; Conflict for a name in use.
    Queries: 2.
    """
    name = " ".join(name.split())
    if not 1 <= len(name) <= LONGEST_NAME:
        raise InputError(f"A printer's name has 1 to {LONGEST_NAME} characters.")
    if not LEAST_DPI <= dpi <= MOST_DPI:
        raise InputError(
            f"{dpi} dots to the inch: printers have {LEAST_DPI} to {MOST_DPI:,}. Its box or its"
            " data sheet says how many."
        )
    if Printer.objects.filter(name__iexact=name).exists():
        raise Conflict(f"There is a printer {name} already. Measure that one, or add to the name.")
    return Printer.objects.create(name=name, dpi=dpi)


@one_transaction
def measure_printer(printer_id: int, *, measures: Measures, check: Check, by: Person) -> None:
    """Keep what was measured on a printer's check sheet.

    What is printed on stocks of this printer is set right by it from now on.
    Raises: NotFound; InputError for measures that no printer's own error
        explains, or with which labels of one of its stocks would be cut off.
    Queries: 3, and 1 more for each of its own stocks.
    """
    printer = get_printer(printer_id)
    check_measures(measures, check=check)
    found = {
        **asdict(measures),
        **asdict(check),
        "measured_at": clock.now(),
        "measured_by": by,
    }
    for name, value in found.items():
        setattr(printer, name, value)
    for adjustment in printer.adjustments.all():
        refuse_cut_off(adjustment, printer=printer)
    Printer.objects.filter(pk=printer.pk).update(**found)


def refuse_cut_off(adjustment: Adjustment, *, printer: Printer) -> None:
    """Refuse measures of a printer with which labels of a stock would be cut off.

    Raises: InputError naming the stock.
    """
    adjustment.printer = printer
    try:
        corrected(any_stock(adjustment.stock), correction=correction_for(adjustment))
    except InputError as error:
        raise InputError(f"{adjustment.stock}: {error.message}") from error


@one_transaction
def withdraw_printer(printer_id: int, *, by: Person, again: bool = False) -> None:
    """Use a printer no longer, or again.

    Raises: NotFound; Conflict while stocks are printed on it.
    Queries: 3.
    """
    printer = get_printer(printer_id)
    stocks = stocks_on(printer)
    if stocks and not again:
        raise Conflict(
            f"{', '.join(stocks)} {'is' if len(stocks) == 1 else 'are'} printed on"
            f" {printer.name}. Choose another printer there first."
        )
    Printer.objects.filter(pk=printer.pk).update(withdrawn_at=None if again else clock.now())
