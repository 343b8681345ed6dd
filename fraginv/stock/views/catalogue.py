"""Writing down varieties."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError
from fraginv.base.rules.cautions import Caution
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.stock.actions.catalogue import add_variety
from fraginv.stock.forms.catalogue import VarietyForm
from fraginv.stock.queries.cautions import paper_cautions
from fraginv.taxa.queries import genus_named


def variety_add(request: HttpRequest) -> HttpResponse:
    """Write down a variety; what the law says of it is shown before it is saved."""
    form = VarietyForm(sent(request), initial=request.GET.dict())
    cautions = variety_cautions(form)

    def do() -> str:
        variety = add_variety(by=person_of(request), **form.cleaned_data)
        return f"{reverse('stock:colony_add')}?variety={variety.pk}"

    if has_read(request, cautions):
        done = submit(request, form, do)
        if done is not None:
            messages.success(request, f"{form.cleaned_data['name']} is written down.")
            return done
    page = {"form": form, "cautions": cautions, "title": "Add a variety", "button": "Add it"}
    return render(request, "stock/catalogue_form.html", page, status=form_status(form))


def has_read(request: HttpRequest, cautions: Sequence[Caution]) -> bool:
    """Tell whether every caution stood on the page from which the form was sent."""
    return {caution.key for caution in cautions} <= set(request.POST.getlist("seen"))


def variety_cautions(form: Form) -> list[Caution]:
    """Return what to beware of with the genus that was typed, where it is known."""
    asked = asked_of(form)
    try:
        genus = genus_named(asked.get("genus", ""))
    except FraginvError as error:
        if form.is_bound and asked.get("genus"):
            form.add_error("genus", error.message)
        return []
    return paper_cautions(genus, species=asked.get("species", ""))


def asked_of(form: Form) -> dict[str, Any]:
    """Return what is in order in a form that was sent."""
    form.is_valid()
    return getattr(form, "cleaned_data", {})
