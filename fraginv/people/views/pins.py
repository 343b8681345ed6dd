"""One's own PIN."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.web import SeeOther, form_status, person_of, sent
from fraginv.people.actions.phones import remove_pin, set_pin
from fraginv.people.forms.pins import NewPinForm
from fraginv.people.queries.factors import has_factor
from fraginv.people.queries.phones import has_pin
from fraginv.people.rules.pins import may_use_pin
from fraginv.people.views.coming import person_by_password

WRONG = "That is not your password. Look at it again."


def pin(request: HttpRequest) -> HttpResponse:
    """Set or change the PIN of who is signed in."""
    person = person_of(request)
    form = NewPinForm(sent(request))
    if form.is_valid() and is_set(request, form, person):
        messages.success(request, "Your PIN is set. It opens this phone where you signed in.")
        return SeeOther(reverse("people:pin"))
    page = {
        "form": form,
        "has_pin": has_pin(person),
        "may_use": may_use_pin(person.role, has_factor=has_factor(person)),
    }
    return render(request, "people/pin.html", page, status=form_status(form))


def is_set(request: HttpRequest, form: NewPinForm, person: Person) -> bool:
    """Set the PIN if the password is right, or say on the form what was wrong."""
    password = form.cleaned_data["password"]
    if not person_by_password(
        request, form, username=person.username, password=password, wrong=WRONG
    ):
        return False
    try:
        set_pin(person, pin=form.cleaned_data["pin"])
    except FraginvError as error:
        form.add_error(None, error.message)
        return False
    return True


def pin_off(request: HttpRequest) -> HttpResponse:
    """Take the PIN of who is signed in away."""
    remove_pin(person_of(request))
    messages.success(request, "Your PIN is gone. Every phone asks for your password now.")
    return SeeOther(reverse("people:pin"))
