"""Setting the house up, once, and changing what is written down of it."""

from dataclasses import asdict
from typing import Any, cast
from zoneinfo import available_timezones

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import Conflict, FraginvError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.cautions import CAUTIONS
from fraginv.base.throttle import throttled
from fraginv.base.web import error_page, form_status, sent, submit, tell
from fraginv.front.actions import begin as begin_house
from fraginv.front.actions import change_house
from fraginv.front.beginning import end_link, host_for_labels, is_link, zone_here
from fraginv.front.forms.house import BeginForm, OrganisationForm, ways_to_write
from fraginv.front.queries.house import what_is_missing
from fraginv.front.rules.proposals import currencies, proposal_for
from fraginv.people.views.coming import come_in

OVER = (
    "This link is not good, or not any more. If the house is set up, sign in. If it is not, stop "
    "fraginv and run `start` again: it shows a new link."
)
FOUNDED = "The house is set up. You sign in as {} from now on: write it down."
BEATEN = (
    "Somebody else was quicker: the house is set up already, and what you sent was not written "
    "down. Its owner can invite you."
)
FIELDS = ("name", "currency", "zone", "locale", "paper", "label_host", "address", "email", "phone")


@throttled()
def begin(request: HttpRequest, token: str) -> HttpResponse:
    """Set the house up by the link that `start` showed, good once; looking uses nothing up."""
    missing = what_is_missing()
    if not missing or not is_link(token):
        return error_page(request, NotFound(OVER))
    form = BeginForm(sent(request), initial=proposed(), is_founded=not missing.organisation)
    if form.is_valid():
        begun = form.begun()
        try:
            _, owner = begin_house(begun.founding, owner=begun.owner, tax=begun.tax)
        except FraginvError as error:
            if not what_is_missing():
                return error_page(request, Conflict(BEATEN))
            form.add_error(None, error.message)
        else:
            end_link()
            answer = come_in(request, cast(Person, owner), wanted="/")
            tell(request, [FOUNDED.format(cast(Person, owner).username)])
            return answer
    page = {"form": form, "caution": CAUTIONS["tax"]} | lists()
    return render(request, "front/begin.html", page, status=form_status(form))


def proposed() -> dict[str, str]:
    """Return what stands in the form of a first run before anything is typed."""
    zone = zone_here()
    usual = proposal_for(zone, locales=[name for name, _ in ways_to_write()])
    return {"zone": zone, "label_host": host_for_labels(), **asdict(usual)}


def lists() -> dict[str, Any]:
    """Return what the forms offer while somebody types."""
    return {"zones": sorted(available_timezones()), "currencies": currencies()}


def change(request: HttpRequest) -> HttpResponse:
    """Change what is written down of the organisation."""
    house = organisation()
    form = OrganisationForm(sent(request), initial={name: getattr(house, name) for name in FIELDS})

    def do() -> str:
        change_house(form.facts(), currency=form.cleaned_data["currency"])
        return reverse("upkeep:house")

    done = submit(request, form, do)
    if done is not None:
        tell(request, ["The organisation is changed."])
        return done
    page = {"form": form} | lists()
    return render(request, "front/organisation_form.html", page, status=form_status(form))
