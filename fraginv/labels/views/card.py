"""The page of the measuring card, and the card itself."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.card import CARD_HEIGHT_MM, CARD_WIDTH_MM
from fraginv.base.web import pdf_response
from fraginv.labels.forms.card import CardForm
from fraginv.labels.queries.card import card_pdf, printer_with_id
from fraginv.labels.queries.stocks import printers_in_use
from fraginv.labels.rules.card_sheet import card_outline, paper_for
from fraginv.labels.rules.coins import COINS


def card(request: HttpRequest) -> HttpResponse:
    """Offer the card, and say how it is printed, checked and used."""
    printers = printers_in_use()
    initial = {
        "paper": paper_for(organisation().paper),
        "printer": request.GET.get("printer", ""),
    }
    context = {
        "form": CardForm(initial=initial, printers=printers),
        "printers": printers,
        "outline": card_outline(),
        "width_mm": CARD_WIDTH_MM,
        "height_mm": CARD_HEIGHT_MM,
        "coins": [(coin.name, coin.words) for coin in COINS],
    }
    return render(request, "labels/card_detail.html", context)


def card_sheet(request: HttpRequest) -> HttpResponse:
    """Answer with the card as a PDF, for the sheet and the printer that were chosen."""
    paper = request.GET.get("paper") or paper_for(organisation().paper)
    printer = printer_with_id(request.GET.get("printer", ""))
    return pdf_response(card_pdf(paper, printer=printer), name="measuring-card.pdf")
