"""Pages of the month."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import CAUTIONS
from fraginv.base.rules.days import month_of, show_month
from fraginv.base.rules.month_steps import steps_from
from fraginv.base.web import pdf_response
from fraginv.reports.queries.months import month_figures, month_trend, read_past_month, trade_basis
from fraginv.reports.queries.papers import month_csv, month_pdf, month_xlsx
from fraginv.reports.rules.trend import draw_chart

CSV = "text/csv; charset=utf-8"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def latest(request: HttpRequest) -> HttpResponse:
    """Go to the present month."""
    return redirect("reports:month", show_month(month_of(today())))


def month(request: HttpRequest, month: str) -> HttpResponse:
    """Show a month to a board: the share carried, and what it is made of."""
    wanted, basis = read_past_month(month), basis_of(request)
    trend = month_trend(wanted, basis=basis)
    present = month_of(today())
    context = {
        "figures": month_figures(wanted, basis=basis),
        "trend": trend,
        "chart": draw_chart(trend),
        "steps": steps_from(wanted, present=present),
        "is_over": wanted < present,
        "tax": CAUTIONS["tax"],
    }
    return render(request, "reports/month_detail.html", context)


def pdf(request: HttpRequest, month: str) -> HttpResponse:
    """Answer with the board's page as a PDF."""
    wanted, basis = read_past_month(month), basis_of(request)
    return pdf_response(month_pdf(wanted, basis=basis), name=f"month-{show_month(wanted)}.pdf")


def csv(request: HttpRequest, month: str) -> HttpResponse:
    """Answer with the month as a CSV file."""
    figures = month_figures(read_past_month(month), basis=basis_of(request))
    return saved(month_csv(figures), kind=CSV, name=f"month-{show_month(figures.month)}.csv")


def xlsx(request: HttpRequest, month: str) -> HttpResponse:
    """Answer with the month as a workbook."""
    figures = month_figures(read_past_month(month), basis=basis_of(request))
    return saved(month_xlsx(figures), kind=XLSX, name=f"month-{show_month(figures.month)}.xlsx")


def basis_of(request: HttpRequest) -> str:
    """Return the basis that a page's address asks for, sales unless it says cash.

    Raises: InputError for another word.
    """
    return trade_basis(request.GET.get("basis") or "sales")


def saved(data: bytes, *, kind: str, name: str) -> HttpResponse:
    """Answer with a file to keep."""
    response = HttpResponse(data, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response
