"""Systems, troughs and racks."""

from collections.abc import Callable

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.rules.codes import address_path
from fraginv.base.web import after_asked, form_status, person_of, sent, submit
from fraginv.stock.actions.catalogue import add_rack, add_system, add_trough
from fraginv.stock.forms.places import RackForm, SystemForm, TroughForm
from fraginv.stock.queries.places import get_system, get_trough, systems_on, trough_page


def place_list(request: HttpRequest) -> HttpResponse:
    """Show the systems with their troughs and racks, some troughs on a page."""
    page = trough_page(after=after_asked(request))
    shown = {"systems": systems_on(page), "page": page}
    return render(request, "stock/place_list.html", shown)


def system_add(request: HttpRequest) -> HttpResponse:
    """Write down a body of water."""
    form = SystemForm(sent(request))

    def do() -> str:
        add_system(by=person_of(request), **form.cleaned_data)
        return reverse("stock:places")

    return adding(request, form, do, title="Add a system")


def trough_add(request: HttpRequest, system_id: int) -> HttpResponse:
    """Write down a trough of a system."""
    system = get_system(system_id)
    form = TroughForm(sent(request))

    def do() -> str:
        add_trough(system, by=person_of(request), **form.cleaned_data)
        return reverse("stock:places")

    return adding(request, form, do, title=f"Add a trough to {system}")


def rack_add(request: HttpRequest, trough_id: int) -> HttpResponse:
    """Write down a rack in a trough."""
    trough = get_trough(trough_id)
    form = RackForm(sent(request))

    def do() -> str:
        rack = add_rack(trough, by=person_of(request), **form.cleaned_data)
        return address_path(rack.code_id)

    return adding(request, form, do, title=f"Add a rack to {trough.system}, {trough}")


def adding(request: HttpRequest, form: Form, do: Callable[[], str], *, title: str) -> HttpResponse:
    """Ask, do, and go on."""
    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "Added.")
        return done
    page = {"form": form, "title": title, "button": "Add it"}
    return render(request, "stock/place_form.html", page, status=form_status(form))
