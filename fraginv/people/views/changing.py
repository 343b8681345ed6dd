"""Changing person on a shared phone."""

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.web import SeeOther, form_status, sent
from fraginv.people.actions.phones import forget_on_phone, try_pin
from fraginv.people.forms.pins import PinForm
from fraginv.people.forms.signing import SignInForm
from fraginv.people.queries.phones import Known, known_on_phone, who_on_phone
from fraginv.people.views.coming import PHONE, let_in_by_pin


def change(request: HttpRequest) -> HttpResponse:
    """End the present visit, and show whom this phone knows."""
    if request.method == "POST":
        logout(request)
        return SeeOther(reverse("people:change"))
    return render(request, "people/change.html", {"known": known_on_phone(token_of(request))})


def take(request: HttpRequest, person_id: int) -> HttpResponse:
    """Ask one whom this phone knows for the PIN, or for the password where that is needed."""
    token = token_of(request)
    known = who_on_phone(token, person_id=person_id)
    if known is None:
        return HttpResponseRedirect(reverse("people:change"))
    form = PinForm(sent(request))
    if known.by_pin and form.is_valid():
        tried = try_pin(person_id, token=token, pin=form.cleaned_data["pin"])
        if tried.person is not None:
            return let_in_by_pin(request, tried.person)
        form.add_error(None, wrong_words(tried.left))
        known = Known(known.person, by_pin=tried.left > 0)
    page = {
        "person": known.person,
        "by_pin": known.by_pin,
        "form": form,
        "password_form": SignInForm(initial={"username": known.person.username}),
    }
    return render(request, "people/change_take.html", page, status=form_status(form))


def forget(request: HttpRequest, person_id: int) -> HttpResponse:
    """Take one off this phone."""
    forget_on_phone(person_id, token=token_of(request))
    return SeeOther(reverse("people:change"))


def token_of(request: HttpRequest) -> str:
    """Return what this browser's phone cookie says, or nothing."""
    return request.COOKIES.get(PHONE, "")


def wrong_words(left: int) -> str:
    """Say how often the PIN may still be tried."""
    if left == 0:
        return "That is not the PIN. On this phone the password is needed now."
    times = "once" if left == 1 else f"{left} times"
    return f"That is not the PIN. It can be tried {times} more, then the password is needed."


def refused(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say that a form from an earlier visit was not taken, and how to go on."""
    page = {
        "title": "This form is from an earlier visit",
        "message": "Nothing was written. Since the form was opened, somebody signed in or out "
        "on this device, or its cookies were cleared, so nobody knows any more whose it is.",
        "advice": "If it was yours, sign in, open the form anew and fill it in again.",
        "status": 403,
    }
    return render(request, "base/error.html", page, status=403)
