"""One's own second step: setting it up, its recovery codes, taking it off."""

from base64 import b32encode
from datetime import datetime, timedelta

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.symbols import make_symbol
from fraginv.base.web import SeeOther, form_status, person_of, sent, way_back
from fraginv.people.actions.factors import (
    confirm_factor,
    remove_factor,
    renew_recovery,
    start_factor,
)
from fraginv.people.forms.factors import CodeForm, PasswordForm
from fraginv.people.queries.factors import has_factor, key_in_waiting, recovery_codes_left
from fraginv.people.rules.factors import ASKED, in_fours, key_uri, show_recovery
from fraginv.people.views.coming import LATER_DAYS, keep_cookie, later_of, person_by_password

WRONG = "That is not your password. Look at it again."
SHOWN = "factor_shown"
SHOWN_LASTS = timedelta(minutes=15)


def factor(request: HttpRequest) -> HttpResponse:
    """Show how things stand with the second step; the password leads on to a new key."""
    person = person_of(request)
    form = PasswordForm(sent(request))
    if form.is_valid() and is_own_password(request, form, person):
        start_factor(person)
        request.session[SHOWN] = clock.now().isoformat()
        return SeeOther(reverse("people:factor_key"))
    is_set = has_factor(person)
    page = {
        "form": form,
        "is_set": is_set,
        "left": recovery_codes_left(person) if is_set else 0,
        "is_asked": person.role in ASKED,
        "next": way_back(request.GET.get("next", ""), default=""),
    }
    return render(request, "people/factor.html", page, status=form_status(form))


def factor_key(request: HttpRequest) -> HttpResponse:
    """Show the key to the phone's camera, and put it to use by a first code."""
    person = person_of(request)
    device = key_in_waiting(person) if is_shown(request) else None
    if device is None:
        return HttpResponseRedirect(reverse("people:factor"))
    form = CodeForm(sent(request))
    if form.is_valid():
        codes = confirm_factor(person, code=form.cleaned_data["code"])
        if codes:
            del request.session[SHOWN]
            update_session_auth_hash(request, person)
            return shown_once(request, codes)
        form.add_error(None, "That code is not right. Type the one that the phone shows now.")
    secret = b32encode(device.bin_key).decode()
    uri = key_uri(secret, account=person.username, issuer=organisation().name)
    page = {"form": form, "symbol": make_symbol(uri, level="M"), "secret": in_fours(secret)}
    return kept_nowhere(render(request, "people/factor_key.html", page, status=form_status(form)))


def factor_codes(request: HttpRequest) -> HttpResponse:
    """Make new recovery codes, after the password."""
    return after_password(request, "codes")


def factor_off(request: HttpRequest) -> HttpResponse:
    """Take one's own second step off, after the password."""
    return after_password(request, "off")


def after_password(request: HttpRequest, what: str) -> HttpResponse:
    """Change the second step of who knows the password, or show again what is asked."""
    person = person_of(request)
    form = PasswordForm(sent(request))
    if not has_factor(person):
        return HttpResponseRedirect(reverse("people:factor"))
    if form.is_valid() and is_own_password(request, form, person):
        if what == "codes":
            return shown_once(request, renew_recovery(person))
        remove_factor(person.pk, by=person)
        messages.success(request, "The second step is off. Your password alone opens the door.")
        return SeeOther(reverse("people:factor"))
    page = {"form": form, "what": what}
    return render(request, "people/factor_change.html", page, status=form_status(form))


def factor_later(request: HttpRequest) -> HttpResponse:
    """Go on without a second step, and do not ask in this browser for a week."""
    answer = SeeOther(way_back(request.POST.get("next", ""), default="/"))
    keep_cookie(answer, later_of(person_of(request)), "1", days=LATER_DAYS)
    return answer


def is_own_password(request: HttpRequest, form: BaseForm, person: Person) -> bool:
    """Tell whether the password is that of who is signed in, or say on the form that it is not."""
    told = form.cleaned_data["password"]
    found = person_by_password(request, form, username=person.username, password=told, wrong=WRONG)
    return found is not None


def is_shown(request: HttpRequest) -> bool:
    """Tell whether the password was given lately in this visit, so that a key may be shown."""
    since = request.session.get(SHOWN)
    if not isinstance(since, str):
        return False
    return timedelta(0) <= clock.now() - datetime.fromisoformat(since) <= SHOWN_LASTS


def shown_once(request: HttpRequest, codes: list[str]) -> HttpResponse:
    """Show recovery codes, which are kept nowhere."""
    page = {"codes": [show_recovery(code) for code in codes]}
    return kept_nowhere(render(request, "people/factor_codes.html", page))


def kept_nowhere(answer: HttpResponse) -> HttpResponse:
    """Let no browser and nothing between keep a page with secrets."""
    answer["Cache-Control"] = "private, no-store"
    return answer
