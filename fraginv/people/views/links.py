"""Links for others: making, making anew and withdrawing them."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.environment import HERE
from fraginv.base.symbols import make_symbol
from fraginv.base.web import form_status, person_of, sent, submit, tell, write_once
from fraginv.people.actions.invitations import Link, invite, offer_reset, renew, withdraw
from fraginv.people.forms.crew import PersonForm


def invite_person(request: HttpRequest) -> HttpResponse:
    """Ask whom to invite, and show the link."""
    form = PersonForm(sent(request), initial=request.GET.dict())
    made: list[Link] = []

    def do() -> str:
        made[:] = [invite(by=person_of(request), site=site_of(request), **form.values())]
        return reverse("people:list")

    done = submit(request, form, do)
    if done is not None:
        return show_once(request, made) or done
    return render(request, "people/invite_form.html", {"form": form}, status=form_status(form))


def invite_anew(request: HttpRequest, invitation_id: int) -> HttpResponse:
    """Make a link in place of one that was lost, and show it."""
    by, site = person_of(request), site_of(request)
    return made_and_shown(request, lambda: renew(invitation_id, by=by, site=site))


def reset_person(request: HttpRequest, person_id: int) -> HttpResponse:
    """Make a link by which somebody chooses a new password, and show it."""
    by, site = person_of(request), site_of(request)
    return made_and_shown(request, lambda: offer_reset(person_id, by=by, site=site))


def withdraw_link(request: HttpRequest, invitation_id: int) -> HttpResponse:
    """Let a link lead nowhere any more."""
    said: list[str] = []

    def do() -> str:
        said[:] = [f"The link for {withdraw(invitation_id, by=person_of(request)).name} is dead."]
        return reverse("people:list")

    done = write_once(request, do)
    tell(request, said)
    return done


def made_and_shown(request: HttpRequest, make: Callable[[], Link]) -> HttpResponse:
    """Make a link under the form's replay key and show it; the same again goes to the list."""
    made: list[Link] = []

    def do() -> str:
        made[:] = [make()]
        return reverse("people:list")

    done = write_once(request, do)
    return show_once(request, made) or done


def site_of(request: HttpRequest) -> str:
    """Return how these pages are reached, such as ``https://reef.example``."""
    return request.build_absolute_uri("/").rstrip("/")


def show_once(request: HttpRequest, made: list[Link]) -> HttpResponse | None:
    """Show a link that was just made; nobody can show it again, as only its hash is kept."""
    if not made:
        return None
    address = site_of(request) + made[0].path
    page = {
        "invitation": made[0].invitation,
        "mailed": made[0].mailed,
        "address": address,
        "symbol": make_symbol(address, level="M"),
        "opens_here_alone": request.get_host().rpartition(":")[0] in HERE,
    }
    answer = render(request, "people/invite_link.html", page)
    answer["Cache-Control"] = "no-store"
    return answer
