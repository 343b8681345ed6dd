"""The water log: what was measured and done, drawn over the losses, and as a table."""

from urllib.parse import urlencode

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.queries.organisation import organisation
from fraginv.base.taking_out import csv_response
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, way_back
from fraginv.stock.actions.water import log_water, strike_entry
from fraginv.stock.forms.water import LATEST, PERIODS, PeriodForm, WaterForm, water_choices
from fraginv.stock.models import System
from fraginv.stock.queries.water import HEADINGS, entry_list, rows_out, water_named, water_page
from fraginv.stock.views.parts import counted

PAGE = 40


def log(request: HttpRequest) -> HttpResponse:
    """Show a water's log in a period, drawn over the losses there."""
    if not System.objects.exists():
        return render(request, "stock/water_none.html")
    form = PeriodForm(request.GET)
    first, last = form.period()
    water = water_named(request.GET.get("water", ""))
    portion = entry_list(water, size=PAGE, after=after_asked(request))
    page = {
        "water": water,
        "page": water_page(water, first=first, last=last) if portion.is_first else None,
        "portion": portion,
        "periods": PERIODS.items(),
        "days": form.cleaned_data.get("days") or LATEST if form.is_valid() else LATEST,
        "waters": water_choices(),
        "back": request.get_full_path(),
    }
    return render(request, "stock/water_log.html", page)


def table(request: HttpRequest) -> StreamingHttpResponse:
    """Give a water's log in a period as a CSV file."""
    first, last = PeriodForm(request.GET).period()
    water = water_named(request.GET.get("water", ""))
    rows = rows_out(water, first=first, last=last, zone=organisation().zone)
    return csv_response(HEADINGS, rows, name=f"water-{first.isoformat()}-{last.isoformat()}")


def add(request: HttpRequest) -> HttpResponse:
    """Write down what was measured, or done to the water."""
    form = WaterForm(sent(request), initial={"water": request.GET.get("water", "")})

    def do() -> str:
        asked = form.cleaned_data
        water = water_named(asked["water"])
        log_water(
            water.trough or water.system,
            readings=asked["readings"],
            at=asked["at"],
            by=person_of(request),
        )
        return f"{reverse('stock:water')}?{urlencode({'water': water.key})}"

    done = submit(request, form, do)
    if done is not None:
        many = len(form.cleaned_data["readings"])
        messages.success(request, f"{counted(many, 'entry', 'entries')} written down.")
        return done
    return render(request, "stock/water_form.html", {"form": form}, status=form_status(form))


def strike(request: HttpRequest, entry_id: int) -> HttpResponse:
    """Strike an entry out."""
    form = Form(sent(request))
    back = way_back(request.POST.get("back", ""), default=reverse("stock:water"))

    def do() -> str:
        strike_entry(entry_id, by=person_of(request))
        return back

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "Struck out. It stays to be read, and counts no more.")
        return done
    for error in form.non_field_errors():
        messages.error(request, str(error))
    return log(request)
