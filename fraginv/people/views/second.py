"""The second step: a code from the phone, or a recovery code."""

from math import ceil

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.show import show_clock
from fraginv.base.web import form_status, sent
from fraginv.people.actions.factors import SecondTry, try_code, try_recovery
from fraginv.people.forms.factors import RecoveryForm, SecondForm
from fraginv.people.rules.attempts import whole_minute
from fraginv.people.views.coming import let_in, who_waits

SHORT_WAIT_SECONDS = 90
LATE = "Sign in again: the second step comes within five minutes of the password."


def second(request: HttpRequest) -> HttpResponse:
    """Ask for the second step of who gave the right password; nobody is signed in before."""
    waiting = who_waits(request)
    if waiting is None:
        messages.info(request, LATE)
        return HttpResponseRedirect(reverse("people:sign_in"))
    person, wanted = waiting
    by_recovery = "recovery" in request.POST
    form = RecoveryForm(request.POST) if by_recovery else SecondForm(sent(request))
    if form.is_valid():
        tried = try_second(person, **form.cleaned_data)
        if tried.is_right:
            return let_in(request, person, wanted=wanted)
        form.add_error(None, wrong_words(tried))
    page = {
        "form": form,
        "name": person.name,
        "by_recovery": by_recovery,
        "code_form": SecondForm() if by_recovery else form,
        "recovery_form": form if by_recovery else RecoveryForm(),
    }
    return render(request, "people/second.html", page, status=form_status(form))


def try_second(person: Person, *, code: str = "", recovery: str = "") -> SecondTry:
    """Look at the code, or at the recovery code where one was given."""
    if recovery:
        return try_recovery(person, code=recovery)
    return try_code(person, code=code)


def wrong_words(tried: SecondTry) -> str:
    """Say what to do after a code that was not right."""
    if tried.wait_until is None:
        return "That code is not right, or was used already. Wait for the next one and type it."
    seconds = ceil((tried.wait_until - clock.now()).total_seconds())
    if seconds <= SHORT_WAIT_SECONDS:
        wait = "for a second" if seconds < 2 else f"for {seconds} seconds"
    else:
        wait = f"until {show_clock(whole_minute(tried.wait_until), organisation())}"
    return f"The last code was wrong, so none is looked at {wait}. Try again then."
