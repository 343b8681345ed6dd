"""Bills: the month's, one of them, entering and paying them."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import Conflict
from fraginv.base.web import after_asked, form_status, month_asked, person_of, sent, submit, tell
from fraginv.costs.actions import add_bill, pay_bill
from fraginv.costs.forms import BillForm, PayForm
from fraginv.costs.queries import (
    bills_of_month,
    costs_of_month,
    get_bill,
    kinds_known,
    suppliers_known,
)
from fraginv.costs.rules import BillItem, why_not_owed

BILLS_ON_A_PAGE = 50


def bills(request: HttpRequest) -> HttpResponse:
    """Show a month's bills and what they come to."""
    steps = month_asked(request)
    page = {
        "steps": steps,
        "page": bills_of_month(steps.month, size=BILLS_ON_A_PAGE, after=after_asked(request)),
        "costs": costs_of_month(steps.month),
    }
    return render(request, "costs/bill_list.html", page)


def bill(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Show one bill with the entries that it posted."""
    return render(request, "costs/bill_detail.html", {"bill": get_bill(bill_id)})


def bill_add(request: HttpRequest) -> HttpResponse:
    """Enter a bill."""
    form = BillForm(sent(request))
    said: list[str] = []

    def do() -> str:
        item = BillItem(form.cleaned_data["kind"], form.cleaned_data["amount"])
        entered = add_bill([item], by=person_of(request), **form.values())
        said[:] = [f"Bill {entered.bill.label} entered.", *entered.said]
        return reverse("costs:bill", args=[entered.bill.pk])

    done = submit(request, form, do)
    if done is not None:
        tell(request, said)
        return done
    page = {"form": form, "kinds": kinds_known(), "suppliers": suppliers_known()}
    return render(request, "costs/bill_form.html", page, status=form_status(form))


def bill_pay(request: HttpRequest, bill_id: int) -> HttpResponse:
    """Pay what a bill owes."""
    found = get_bill(bill_id)
    form = PayForm(sent(request))
    if not found.is_owed and not form.is_bound:
        raise Conflict(why_not_owed(found.label, paid_on=found.paid_on))
    said: list[str] = []

    def do() -> str:
        paid = pay_bill(bill_id, by=person_of(request), **form.cleaned_data)
        said[:] = [f"Bill {paid.label} is paid."]
        return reverse("costs:bill", args=[bill_id])

    done = submit(request, form, do)
    if done is not None:
        tell(request, said)
        return done
    page = {"form": form, "bill": found}
    return render(request, "costs/bill_pay.html", page, status=form_status(form))
