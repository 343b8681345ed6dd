"""Setting the house up, once, and changing what is written down of it."""

from zoneinfo import available_timezones

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError, NotFound
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.cautions import CAUTIONS
from fraginv.base.throttle import throttled
from fraginv.base.web import error_page, form_status, sent, submit
from fraginv.front.actions import begin as begin_house
from fraginv.front.actions import change_house
from fraginv.front.beginning import end_link, host_for_labels, is_link, zone_here
from fraginv.front.forms.house import BeginForm, OrganisationForm
from fraginv.front.queries.house import what_is_missing
from fraginv.people.views.coming import come_in

OVER = (
    "This link is not good, or not any more. If the house is set up, sign in. If it is not, stop "
    "fraginv and run `start` again: it shows a new link."
)
FIELDS = ("name", "currency", "zone", "locale", "paper", "label_host", "address", "email", "phone")


@throttled()
def begin(request: HttpRequest, token: str) -> HttpResponse:
    """Set the house up by the link that `start` showed, good once; looking uses nothing up."""
    missing = what_is_missing()
    if not missing or not is_link(token):
        return error_page(request, NotFound(OVER))
    proposed = {"zone": zone_here(), "label_host": host_for_labels(), "paper": "letter"}
    form = BeginForm(sent(request), initial=proposed)
    if form.is_valid():
        begun = form.begun()
        founding = begun.founding if missing.organisation else None
        try:
            _, owner = begin_house(founding, owner=begun.owner, tax=begun.tax)
        except FraginvError as error:
            form.add_error(None, error.message)
        else:
            end_link()
            assert owner is not None  # noqa: S101 an owner was given, so one was made
            return come_in(request, owner, wanted="/")
    page = {"form": form, "zones": sorted(available_timezones()), "caution": CAUTIONS["tax"]}
    return render(request, "front/begin.html", page, status=form_status(form))


def change(request: HttpRequest) -> HttpResponse:
    """Change what is written down of the organisation."""
    house = organisation()
    form = OrganisationForm(sent(request), initial={name: getattr(house, name) for name in FIELDS})

    def do() -> str:
        change_house(form.facts(), currency=form.cleaned_data["currency"])
        return reverse("upkeep:house")

    page = {"form": form, "zones": sorted(available_timezones())}
    return submit(request, form, do) or render(
        request, "front/organisation_form.html", page, status=form_status(form)
    )
