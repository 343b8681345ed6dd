"""Stocks of the house and of the organisation, and the printers that they are printed on."""

from collections.abc import Mapping
from dataclasses import asdict, replace

from fraginv.base.errors import NotFound
from fraginv.labels.models import Adjustment, OwnStock, Printer
from fraginv.labels.rules.measures import StockMeasures, stock_from
from fraginv.labels.rules.printers import (
    Check,
    Correction,
    Measures,
    corrected,
    correction_from,
)
from fraginv.labels.rules.stocks import STOCKS, LabelStock, stock_named


def measures_of(own: OwnStock) -> StockMeasures:
    """Return the measures that a row keeps."""
    return StockMeasures(**{name: getattr(own, name) for name in MEASURED})


MEASURED = tuple(StockMeasures.__dataclass_fields__)


def columns_of(measures: StockMeasures) -> Mapping[str, int | bool]:
    """Return measures as a row keeps them."""
    return asdict(measures)


def stock_of_row(own: OwnStock) -> LabelStock:
    """Return the label stock that a row describes."""
    return stock_from(measures_of(own), name=own.name, form=own.form)


def stocks_in_use() -> list[LabelStock]:
    """Return the stocks that can be printed on now, the organisation's own last.

    Each has the dots of its printer, but lies where it does on paper.
    Queries: 2.
    """
    dots = {
        one.stock: one.printer.dpi
        for one in Adjustment.objects.select_related("printer").filter(printer__isnull=False)
        if one.printer
    }
    own = OwnStock.objects.filter(withdrawn_at__isnull=True).order_by("name")
    known = [*STOCKS.values(), *map(stock_of_row, own)]
    return [replace(stock, dpi=dots.get(stock.name, stock.dpi)) for stock in known]


def stock_called(name: str) -> LabelStock:
    """Return a stock that can be printed on now, by its name in any case.

    Raises: InputError naming the stocks that there are.
    Queries: none for a stock of the house, else 2.
    """
    if name.strip().lower() in STOCKS:
        return stock_named(name)
    return stock_named(name, among={stock.name: stock for stock in stocks_in_use()})


def any_stock(name: str) -> LabelStock:
    """Return a stock by its exact name, a withdrawn one too.

    Raises: NotFound.
    Queries: none for a stock of the house, else 1.
    """
    return STOCKS[name] if name in STOCKS else stock_of_row(get_own(name))


def get_own(name: str) -> OwnStock:
    """Return one of the organisation's own stocks, a withdrawn one too.

    Raises: NotFound.
    Queries: 1.
    """
    found = OwnStock.objects.filter(name=name).first()
    if found is None:
        raise NotFound("There is no such label stock.")
    return found


def own_stocks() -> list[OwnStock]:
    """Return the organisation's own stocks, withdrawn ones last.

    Queries: 1.
    """
    return sorted(OwnStock.objects.order_by("name"), key=lambda own: own.withdrawn_at is not None)


def adjustment_of(name: str) -> Adjustment:
    """Return how a stock is adjusted; where nobody has, a row that moves nothing, not kept.

    Queries: 1.
    """
    found = Adjustment.objects.select_related("printer").filter(stock=name).first()
    return found or Adjustment(stock=name)


def correction_for(adjustment: Adjustment) -> Correction:
    """Return what is to be set right for a stock: its printer's own ways, and its offset."""
    printer = adjustment.printer
    own = correction_of(printer) if printer and printer.measured_at else Correction()
    return replace(own, right_mm=adjustment.right_tenths / 10, down_mm=adjustment.down_tenths / 10)


def set_right(stock: LabelStock) -> tuple[LabelStock, Correction]:
    """Return a stock as it must be sent to its printer, and what the printer does to it.

    Raises: InputError when labels would be sent off the page.
    Queries: 1.
    """
    adjustment = adjustment_of(stock.name)
    dpi = adjustment.printer.dpi if adjustment.printer else stock.dpi
    correction = correction_for(adjustment)
    return corrected(replace(stock, dpi=dpi), correction=correction), correction


def correction_of(printer: Printer) -> Correction:
    """Return how a printer strays, as it was measured."""
    return correction_from(measured(printer), check=check_of(printer))


def measured(printer: Printer) -> Measures:
    """Return what was measured on a printer's check sheet."""
    return Measures(
        across_tenths=printer.across_tenths,
        down_tenths=printer.down_tenths,
        left_tenths=printer.left_tenths,
        top_tenths=printer.top_tenths,
    )


def check_of(printer: Printer) -> Check:
    """Return the check sheet that a printer was measured on."""
    return Check(bar_mm=printer.bar_mm, corner_mm=printer.corner_mm)


def printers() -> list[Printer]:
    """Return all printers with the stocks that are printed on them, withdrawn ones last.

    Queries: 2.
    """
    known = Printer.objects.prefetch_related("adjustments").order_by("name")
    return sorted(known, key=lambda printer: printer.withdrawn_at is not None)


def printers_in_use() -> list[Printer]:
    """Return the printers that are used now.

    Queries: 1.
    """
    return list(Printer.objects.filter(withdrawn_at__isnull=True).order_by("name"))


def stocks_on(printer: Printer) -> list[str]:
    """Return the names of the stocks that are printed on a printer.

    Queries: 1.
    """
    return [one.stock for one in printer.adjustments.order_by("stock")]


def get_printer(printer_id: int) -> Printer:
    """Return a printer, a withdrawn one too.

    Raises: NotFound.
    Queries: 1.
    """
    found = Printer.objects.select_related("measured_by").filter(pk=printer_id).first()
    if found is None:
        raise NotFound("There is no such printer.")
    return found
