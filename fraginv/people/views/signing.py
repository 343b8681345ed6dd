"""Coming in and going out."""

from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.queries.people import people_active
from fraginv.base.web import SeeOther, form_status, sent, way_back
from fraginv.people.forms.signing import SignInForm

BACKEND = "django.contrib.auth.backends.ModelBackend"
WRONG = "That name and password do not go together. Look at both again."


def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask who it is; in the demo one tap on a name is enough."""
    asked = request.POST if request.method == "POST" else request.GET
    wanted = way_back(asked.get("next", ""), default="/")
    demo = organisation().is_demo
    form = SignInForm(sent(request))
    person = demo_person(request) if demo else None
    if person is None and form.is_valid():
        person = known_person(request, form)
    if person is not None:
        login(request, person, backend=BACKEND)
        return SeeOther(wanted)
    page = {
        "form": form,
        "next": "" if wanted == "/" else wanted,
        "demo_people": people_active() if demo else [],
    }
    return render(request, "people/sign_in.html", page, status=form_status(form))


def sign_out(request: HttpRequest) -> HttpResponse:
    """End the visit."""
    logout(request)
    return SeeOther("/sign-in")


def known_person(request: HttpRequest, form: SignInForm) -> Person | None:
    """Return whose name and password these are, or say on the form that they are nobody's."""
    person = authenticate(request, **form.cleaned_data)
    if isinstance(person, Person):
        return person
    form.add_error(None, WRONG)
    return None


def demo_person(request: HttpRequest) -> Person | None:
    """Return who was tapped on in the demo."""
    return people_active().filter(username=request.POST.get("demo", "")).first()
