"""Customers."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import CAUTIONS
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, tell
from fraginv.trade.actions.customers import add_customer, set_certificate
from fraginv.trade.forms.customers import CertificateForm, CustomerForm
from fraginv.trade.queries.customers import (
    customers_list,
    died_for,
    get_customer,
    holds_for,
    sales_to,
)
from fraginv.trade.rules.certificates import covers

ROWS_ON_A_PAGE = 50


def customer_list(request: HttpRequest) -> HttpResponse:
    """Show the customers by name, with what they owe."""
    page = {"page": customers_list(size=ROWS_ON_A_PAGE, after=after_asked(request))}
    return render(request, "trade/customer_list.html", page)


def customer_add(request: HttpRequest) -> HttpResponse:
    """Write down a customer."""
    form = CustomerForm(sent(request), initial=request.GET.dict())
    said: list[str] = []

    def do() -> str:
        added = add_customer(by=person_of(request), certificate=form.certificate(), **form.values())
        said[:] = [f"{added.party.name} is written down."]
        return reverse("trade:customer", args=[added.pk])

    done = submit(request, form, do)
    if done is not None:
        tell(request, said)
        return done
    page = {"form": form, "caution": CAUTIONS["tax"], "title": "Add a customer", "button": "Add"}
    return render(request, "trade/customer_form.html", page, status=form_status(form))


def customer_page(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Show a customer: what is put aside, what was bought, what is owed."""
    customer = get_customer(customer_id)
    page = {
        "customer": customer,
        "holds": list(holds_for(customer=customer, name="")),
        "died": died_for(customer),
        "page": sales_to(customer, size=ROWS_ON_A_PAGE, after=after_asked(request)),
        "is_exempt": covers(customer.certificate, today()),
    }
    return render(request, "trade/customer_detail.html", page)


def certificate_set(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Write down a customer's resale certificate."""
    customer = get_customer(customer_id)
    held = customer.certificate
    form = CertificateForm(
        sent(request),
        initial={
            "state": held.state,
            "number": held.number,
            "valid_from": held.valid_from,
            "valid_until": held.valid_until,
        },
    )

    def do() -> str:
        set_certificate(customer_id, certificate=form.certificate(), by=person_of(request))
        return reverse("trade:customer", args=[customer_id])

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "Saved.")
        return done
    page = {
        "form": form,
        "caution": CAUTIONS["tax"],
        "title": f"Resale certificate of {customer}",
        "button": "Save",
    }
    return render(request, "trade/customer_form.html", page, status=form_status(form))
