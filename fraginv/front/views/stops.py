"""Stop-sales: the list, one with what it touches, who bought from there, starting and ending."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Right
from fraginv.base.taking_out import csv_response
from fraginv.base.web import after_asked, form_status, person_of, sent, submit
from fraginv.front.forms.stops import EndForm, SinceForm, StopForm, stop_asked
from fraginv.front.queries.bought import HEADINGS, Bought, bought_from, call_rows
from fraginv.front.queries.stops import stop_page
from fraginv.stock.actions.stops import end_stop, start_stop
from fraginv.stock.models import StopSale
from fraginv.stock.queries.stops import ended_stops, get_stop, stops
from fraginv.stock.rules.stops import check_since

PAGE = 20


def stop_list(request: HttpRequest) -> HttpResponse:
    """Show the stop-sales that hold, and those that have ended."""
    ended = ended_stops(size=PAGE, after=after_asked(request))
    page = {
        "holding": [(stop, stop.concerns) for stop in stops()] if ended.is_first else [],
        "ended": [(stop, stop.concerns) for stop in ended.rows],
        "portion": ended,
    }
    return render(request, "front/stop_list.html", page)


def stop_start(request: HttpRequest) -> HttpResponse:
    """Stop the sale of what is in one water, or of one colony or kind."""
    form = StopForm(sent(request), initial=stop_asked(request.GET.dict()))

    def do() -> str:
        asked = form.cleaned_data
        words = {name: asked[name] for name in ("reason", "ends_when", "since")}
        stop = start_stop(asked["concern"], by=person_of(request), **words)
        return reverse("front:stop", args=[stop.pk])

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The sale is stopped. Here is what that touches.")
        return done
    page = {"form": form, "rare": any(form.initial.get(one) for one in ("variety", "genus"))}
    return render(request, "front/stop_form.html", page, status=form_status(form))


def stop(request: HttpRequest, stop_id: int) -> HttpResponse:
    """Show a stop-sale with what it touches now and which promises are open."""
    page = stop_page(get_stop(stop_id), after=after_asked(request))
    return render(request, "front/stop_detail.html", {"page": page, "stop": page.stop})


def stop_buyers(request: HttpRequest, stop_id: int) -> HttpResponse:
    """List who bought from there since a day; names only for who may see customers."""
    found = get_stop(stop_id)
    form = SinceForm(request.GET)
    bought = bought_since(found, form=form)
    page = {
        "stop": found,
        "name": found.concerns,
        "bought": bought,
        "form": form,
        "since": bought.since.isoformat(),
        "may_name": person_of(request).can(Right.SEE_CUSTOMERS),
    }
    return render(request, "front/stop_buyers.html", page)


def stop_buyers_csv(request: HttpRequest, stop_id: int) -> StreamingHttpResponse:
    """Give who bought from there as a table to call by."""
    bought = bought_since(get_stop(stop_id), form=SinceForm(request.GET))
    name = f"stop-sale-{stop_id}-since-{bought.since.isoformat()}"
    return csv_response(HEADINGS, call_rows(bought), name=name)


def bought_since(stop: StopSale, *, form: SinceForm) -> Bought:
    """Return who bought since the day that was asked for, or the one that the stop-sale names.

    Raises: InputError for a day that cannot be.
    """
    asked: date | None = form.cleaned_data.get("since") if form.is_valid() else None
    if asked is not None:
        check_since(asked, today=today())
    return bought_from(stop, since=asked or stop.since)


def stop_end(request: HttpRequest, stop_id: int) -> HttpResponse:
    """End a stop-sale with the reason why it may be sold again."""
    found = get_stop(stop_id)
    form = EndForm(sent(request))

    def do() -> str:
        end_stop(stop_id, by=person_of(request), **form.cleaned_data)
        return reverse("front:stops")

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, f"{found.concerns}: for sale again.")
        return done
    page = {"form": form, "stop": found, "name": found.concerns}
    return render(request, "front/stop_end.html", page, status=form_status(form))
