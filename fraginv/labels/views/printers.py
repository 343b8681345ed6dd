"""Pages about printers: added, measured once by a check sheet, withdrawn."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.paper import render_pdf
from fraginv.base.queries.organisation import organisation
from fraginv.base.web import form_status, pdf_response, person_of, sent, submit
from fraginv.labels.actions.stocks import add_printer, measure_printer, withdraw_printer
from fraginv.labels.forms.printing import NothingForm
from fraginv.labels.forms.stocks import MeasureForm, PrinterForm, measured_initial
from fraginv.labels.models import Printer
from fraginv.labels.queries.stocks import (
    any_stock,
    correction_of,
    get_printer,
    stock_called,
    stocks_on,
)
from fraginv.labels.rules.printers import check_drawing, check_for
from fraginv.labels.rules.stocks import LabelStock, stock_for_paper
from fraginv.labels.views.stocks import told

# Less than this no ruler shows.
LEAST_SHIFT_MM = 0.05


def printer_add(request: HttpRequest) -> HttpResponse:
    """Write down a printer, and go on to measure it."""
    form = PrinterForm(sent(request))

    def do() -> str:
        return reverse(
            "labels:printer", args=[add_printer(by=person_of(request), **form.cleaned_data).pk]
        )

    done = submit(request, form, do)
    return done or render(
        request, "labels/printer_add.html", {"form": form}, status=form_status(form)
    )


def printer(request: HttpRequest, printer_id: int) -> HttpResponse:
    """Show a printer with what was measured, and take new measures."""
    shown = get_printer(printer_id)
    stocks = stocks_on(shown)
    page = page_for(request, stocks=stocks)
    check = check_for(page_width_mm=page.page_width_mm, page_height_mm=page.page_height_mm)
    initial = {"stock": page.name, **measured_initial(shown, check=check)}
    form = MeasureForm(sent(request), initial=initial)

    def do() -> str:
        measure_printer(shown.pk, measures=form.measures(), check=check, by=person_of(request))
        return reverse("labels:printer", args=[shown.pk])

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "Kept. All that is printed on it is set right from now on.")
        return done
    context = {
        "printer": shown,
        "form": form,
        "page": page,
        "check": check,
        "stocks": stocks,
        "strays": say_strays(shown),
    }
    return render(request, "labels/printer_detail.html", context, status=form_status(form))


def printer_check(request: HttpRequest, printer_id: int) -> HttpResponse:
    """Answer with a check sheet, as large as the printer's own sheets or labels."""
    shown = get_printer(printer_id)
    stocks = stocks_on(shown)
    page = page_for(request, stocks=stocks)
    check = check_for(page_width_mm=page.page_width_mm, page_height_mm=page.page_height_mm)
    drawing = check_drawing(
        check, page_width_mm=page.page_width_mm, page_height_mm=page.page_height_mm
    )
    context = {"page": page, "check": check, "printer": shown}
    pdf = render_pdf("labels/paper_check.html", context, finisher=lambda _: drawing, tagged=False)
    return pdf_response(pdf, name=f"check-{printer_id}.pdf")


def printer_withdraw(request: HttpRequest, printer_id: int) -> HttpResponse:
    """Use a printer no longer, or again."""
    form, again = NothingForm(sent(request)), "again" in request.POST

    def do() -> str:
        withdraw_printer(printer_id, by=person_of(request), again=again)
        return reverse("labels:stocks")

    said = "It is used again." if again else "It is used no longer."
    done = told(request, form, do, said=said)
    if done is not None:
        return done
    context = {"form": form, "printer": get_printer(printer_id)}
    return render(request, "labels/printer_withdraw.html", context, status=form_status(form))


def page_for(request: HttpRequest, *, stocks: Sequence[str]) -> LabelStock:
    """Return the sheet or label that a printer is measured on: as asked, its own, or the house's.

    Raises: InputError for a stock that there is not.
    """
    asked = request.POST.get("stock") or request.GET.get("stock", "")
    if asked:
        return stock_called(asked)
    return any_stock(stocks[0]) if stocks else stock_for_paper(organisation().paper)


def say_strays(printer: Printer) -> list[tuple[str, str]]:
    """Say how a printer strays from what it is sent."""
    if printer.measured_at is None:
        return []
    found = correction_of(printer)
    return [
        ("Bar across", f"{printer.across_tenths / 10:.1f} mm of {printer.bar_mm} mm"),
        ("Bar down", f"{printer.down_tenths / 10:.1f} mm of {printer.bar_mm} mm"),
        ("At the left edge", say_shift(found.shift_x_mm, over="right", under="left")),
        ("At the top edge", say_shift(found.shift_y_mm, over="down", under="up")),
    ]


def say_shift(mm: float, *, over: str, under: str) -> str:
    """Say how far a printer puts things beside their place."""
    if abs(mm) < LEAST_SHIFT_MM:
        return "where it should be"
    return f"{abs(mm):.1f} mm too far {over if mm > 0 else under}"
