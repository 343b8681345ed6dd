"""Prices and the sales tax."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import CAUTIONS
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.forms.pricing import PriceForm, TaxForm
from fraginv.trade.models import CustomerKind
from fraginv.trade.queries.price_table import price_table
from fraginv.trade.queries.prices import get_kind
from fraginv.trade.rules.words import RETAIL


def price_list(request: HttpRequest) -> HttpResponse:
    """Show one kind's prices, and first what lacks one."""
    kind = get_kind(request.GET.get("kind", RETAIL))
    page = {
        "kind": kind,
        "kinds": CustomerKind.objects.order_by("pk"),
        "table": price_table(kind, day=today()),
        "caution": CAUTIONS["tax"],
    }
    return render(request, "trade/price_list.html", page)


def price_set(request: HttpRequest) -> HttpResponse:
    """Set a price."""
    form = PriceForm(sent(request), initial=request.GET.dict())

    def do() -> str:
        price = set_price(form.cleaned_data["amount"], by=person_of(request), **form.values())
        return f"{reverse('trade:prices')}?kind={price.kind.name}"

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The price is set.")
        return done
    return render(request, "trade/price_form.html", {"form": form}, status=form_status(form))


def tax_set(request: HttpRequest) -> HttpResponse:
    """Set the sales tax."""
    form = TaxForm(sent(request))

    def do() -> str:
        set_tax_rate(form.rate(), by=person_of(request), **form.values())
        return reverse("trade:prices")

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The sales tax is set.")
        return done
    page = {"form": form, "caution": CAUTIONS["tax"]}
    return render(request, "trade/tax_form.html", page, status=form_status(form))
