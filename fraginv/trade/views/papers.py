"""Sales that were made: the list, one on screen and as a receipt, paying, crediting."""

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import Conflict, InputError
from fraginv.base.paper import render_pdf
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.days import parse_day
from fraginv.base.web import form_status, pdf_response, person_of, sent, submit
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.forms.selling import CreditForm, CreditLineForm, PayForm
from fraginv.trade.queries.papers import PAGE, PaperLine, owing, recent_sales, sale_paper
from fraginv.trade.rules.asked import CreditItem
from fraginv.trade.rules.words import Means


@dataclass(frozen=True)
class CreditRow:
    """One line of a sale beside the questions about its credit."""

    paper: PaperLine
    form: CreditLineForm


def sales(request: HttpRequest) -> HttpResponse:
    """Show the latest sales, or those on which something is owed."""
    only_owed = request.GET.get("owed") == "yes"
    rows = owing(limit=PAGE) if only_owed else recent_sales(before=place_of(request))
    found = list(rows)
    last = found[-1] if len(found) == PAGE and not only_owed else None
    page = {"sales": found, "last": last, "only_owed": only_owed, "page_size": PAGE}
    return render(request, "trade/sale_list.html", page)


def place_of(request: HttpRequest) -> tuple[date, int] | None:
    """Return the day and id after which a page of sales begins, or None for the first.

    Raises: InputError for an address that nobody was given.
    """
    day, pk = request.GET.get("day", ""), request.GET.get("sale", "")
    if not day and not pk:
        return None
    if not pk.isdecimal() or len(pk) > len(str(10**18)) - 1:
        raise InputError("This page of sales is not there. Begin with the latest.")
    return parse_day(day), int(pk)


def sale(request: HttpRequest, sale_id: int) -> HttpResponse:
    """Show a sale's paper with what came after it."""
    return render(request, "trade/sale_detail.html", {"paper": sale_paper(sale_id)})


def receipt(request: HttpRequest, sale_id: int) -> HttpResponse:
    """Give a sale's receipt as a PDF."""
    paper = sale_paper(sale_id)
    context = {"paper": paper, "organisation": organisation()}
    pdf = render_pdf("trade/paper_receipt.html", context)
    return pdf_response(pdf, name=f"receipt-{paper.sale.paper}.pdf")


def pay(request: HttpRequest, sale_id: int) -> HttpResponse:
    """Take money for a sale."""
    paper = sale_paper(sale_id)
    if not paper.owed:
        raise Conflict(f"Nothing is owed on {paper.sale.paper}.")
    form = PayForm(sent(request))

    def do() -> str:
        asked = dict(form.cleaned_data)
        means = Means(asked.pop("means"))
        take_payment(sale_id, means=means, by=person_of(request), **asked)
        return reverse("trade:sale", args=[sale_id])

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The payment is taken.")
        return done
    page = {"form": form, "paper": paper}
    return render(request, "trade/pay_form.html", page, status=form_status(form))


def credit(request: HttpRequest, sale_id: int) -> HttpResponse:
    """Credit a sale or parts of it."""
    paper = sale_paper(sale_id)
    form = CreditForm(sent(request))
    rows = [
        CreditRow(line, CreditLineForm(sent(request), prefix=f"line{line.line.pk}", most=line.left))
        for line in paper.lines
    ]

    def do() -> str:
        credit_sale(
            sale_id,
            by=person_of(request),
            items=items_of(rows),
            refund_means=form.means(),
            reason=form.cleaned_data["reason"],
        )
        return reverse("trade:sale", args=[sale_id])

    if request.method == "POST" and not all(row.form.is_valid() for row in rows):
        form.add_error(None, "Look at the lines below.")
    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The credit is written.")
        return done
    page = {"form": form, "rows": rows, "paper": paper}
    return render(request, "trade/credit_form.html", page, status=form_status(form))


def items_of(rows: list[CreditRow]) -> list[CreditItem]:
    """Return the lines on which anything is to be credited."""
    asked = [(row, row.form.values()) for row in rows]
    return [
        CreditItem(row.paper.line.pk, **values) for row, values in asked if any(values.values())
    ]
