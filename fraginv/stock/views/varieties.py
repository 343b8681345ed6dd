"""Changing a variety, and its rule when frags are ready."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.web import form_status, person_of, sent, submit, way_back
from fraginv.stock.actions.varieties import edit_variety, set_pace
from fraginv.stock.forms.catalogue import PaceForm, VarietyForm
from fraginv.stock.queries.varieties import get_variety
from fraginv.stock.rules.ready import Pace
from fraginv.stock.views.catalogue import has_read, variety_cautions

PACE = ("heal_days", "ready_days", "ready_size", "ready_heads", "ready_mm", "see_days")
WRITTEN = ("name", "species", "group", "care", "note")


def variety_edit(request: HttpRequest, variety_id: int) -> HttpResponse:
    """Change what is written down of a variety; what the law says is shown before it is saved."""
    variety = get_variety(variety_id)
    initial = {name: getattr(variety, name) for name in WRITTEN} | {"genus": variety.genus.name}
    form = VarietyForm(sent(request), initial=initial)
    cautions = variety_cautions(form)

    def do() -> str:
        edit_variety(variety.pk, by=person_of(request), **form.cleaned_data)
        return back_of(request)

    if has_read(request, cautions):
        done = submit(request, form, do)
        if done is not None:
            messages.success(request, f"{form.cleaned_data['name']} is changed.")
            return done
    page = {
        "form": form,
        "cautions": cautions,
        "title": f"Change {variety.name}",
        "button": "Save",
    }
    return render(request, "stock/catalogue_form.html", page, status=form_status(form))


def variety_pace(request: HttpRequest, variety_id: int) -> HttpResponse:
    """Change when frags of a variety are ready."""
    variety = get_variety(variety_id)
    form = PaceForm(sent(request), initial={name: getattr(variety, name) for name in PACE})
    form.say_usual(Pace(variety.group))

    def do() -> str:
        set_pace(variety.pk, by=person_of(request), **form.cleaned_data)
        return back_of(request)

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The rule is changed, and the days of its living frags with it.")
        return done
    page = {"form": form, "title": f"When {variety.name} is ready", "button": "Save"}
    return render(request, "stock/catalogue_form.html", page, status=form_status(form))


def back_of(request: HttpRequest) -> str:
    """Return the page from which the form was opened, or the first page."""
    return way_back(request.GET.get("back", ""), default="/")
