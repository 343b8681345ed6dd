"""Coming in and going out."""

from typing import Any

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.queries.people import people_active
from fraginv.base.web import SeeOther, form_status, sent, way_back
from fraginv.people.forms.signing import SignInForm
from fraginv.people.queries.phones import known_on_phone
from fraginv.people.views.coming import PHONE, come_in, person_by_password

WRONG = "That name and password do not go together. Look at both again."


def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask who it is; in the demo one tap on a name is enough."""
    asked = request.POST if request.method == "POST" else request.GET
    wanted = way_back(asked.get("next", ""), default="/")
    demo = organisation().is_demo
    form = SignInForm(sent(request))
    person = demo_person(request) if demo else None
    if person is None and form.is_valid():
        person = person_by_password(request, form, **form.cleaned_data, wrong=WRONG)
    if person is not None:
        return come_in(request, person, wanted=wanted)
    page = {
        "form": form,
        "next": "" if wanted == "/" else wanted,
        "demo_people": people_active() if demo else [],
        "is_shared": bool(known_on_phone(request.COOKIES.get(PHONE, ""))),
    }
    return render(request, "people/sign_in.html", page, status=status_of(request, form))


def sign_out(request: HttpRequest) -> HttpResponse:
    """End the visit."""
    logout(request)
    return SeeOther("/sign-in")


def demo_person(request: HttpRequest) -> Person | None:
    """Return who was tapped on in the demo."""
    return people_active().filter(username=request.POST.get("demo", "")).first()


def status_of(request: HttpRequest, form: SignInForm) -> int:
    """Return the HTTP status of the page: 429 while the door is locked (RFC 6585, section 4)."""
    return 429 if getattr(request, "axes_locked_out", False) else form_status(form)


def as_answered(
    request: HttpRequest, answer: HttpResponse | None, credentials: Any
) -> HttpResponse | None:
    """Keep the page that was made for a locked door: it says already what is the matter."""
    return answer
