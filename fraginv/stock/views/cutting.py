"""Cutting a colony."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.stock.actions.cuttings import cut_colony, refuse_uncuttable
from fraginv.stock.forms.bench import CutForm
from fraginv.stock.models import Colony
from fraginv.stock.queries.cautions import bench_cautions, poison_cautions
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.rules.cutting import is_resting, rests_until
from fraginv.stock.views.parts import counted


def cut(request: HttpRequest, code: str) -> HttpResponse:
    """Record one sitting at the bench with one colony."""
    colony = colony_by_code(read_code(code))
    refuse_uncuttable(colony)
    form = CutForm(sent(request), initial={"first_code": request.GET.get("first", "")})

    def do() -> str:
        cutting = cut_colony(colony.pk, by=person_of(request), **form.values())
        return f"{address_path(colony.code_id)}?cutting={cutting.pk}"

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, say_cut(form))
        return done
    resting = rests_on(day_asked(form), colony)
    if resting:
        form.ask_why()
    page = {
        "colony": colony,
        "form": form,
        "rests_until": resting,
        "bench": bench_cautions(),
        "cautions": poison_cautions(colony.variety.genus),
    }
    return render(request, "stock/colony_cut.html", page, status=form_status(form))


def day_asked(form: CutForm) -> date:
    """Return the day that was typed, or today where none was, or none that can be read."""
    day: date | None = form.cleaned_data.get("day") if form.is_bound else None
    return day or today()


def rests_on(day: date, colony: Colony) -> date | None:
    """Return until when a colony rests that may not be cut on a day, else None."""
    if not is_resting(day, last_cut=colony.last_cut_on, rest_days=colony.rest_days):
        return None
    return rests_until(colony.last_cut_on, rest_days=colony.rest_days)


def say_cut(form: CutForm) -> str:
    """Say what was recorded."""
    values = form.values()
    pieces = counted(values["pieces"], "piece", "pieces")
    made = f"One lot of {pieces}" if values["lot"] else counted(values["pieces"], "frag", "frags")
    lost = f", {values['lost']} lost at the bench" if values["lost"] else ""
    return f"{made} cut{lost}."
