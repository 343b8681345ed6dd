"""The page that a link opens, for somebody who is not signed in."""

import functools
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.errors import FraginvError
from fraginv.base.rules.roles import Role
from fraginv.base.throttle import throttled
from fraginv.base.web import error_page, form_status, sent
from fraginv.people.actions.invitations import accept
from fraginv.people.forms.accepting import AcceptForm, ResetForm
from fraginv.people.models import Invitation
from fraginv.people.queries.invitations import invitation_of
from fraginv.people.rules.invitations import propose_username
from fraginv.people.rules.words import ROLE_TEXTS, rights_in_words
from fraginv.people.views.coming import come_in

View = Callable[..., HttpResponse]

# The address is a secret. It goes to no other site, to no list of a search engine and
# into no cache. "no-referrer" would keep more back, but then browsers send forms with
# "Origin: null" (Fetch standard, "append a request Origin header"), which looks forged.
QUIET = {
    "Referrer-Policy": "strict-origin",
    "X-Robots-Tag": "noindex, nofollow",
    "Cache-Control": "no-store",
}


def quiet(view: View) -> View:
    """Let every answer of a page keep its address to itself, errors included."""

    @functools.wraps(view)
    def quietly(request: HttpRequest, /, token: str) -> HttpResponse:
        answer = view(request, token=token)
        for name, value in QUIET.items():
            answer[name] = value
        return answer

    return quietly


@quiet
@throttled()
def accept_link(request: HttpRequest, *, token: str) -> HttpResponse:
    """Let somebody in by a link; looking at it uses nothing up."""
    try:
        return answered(request, token, invitation_of(token))
    except FraginvError as error:
        return error_page(request, error)


def answered(request: HttpRequest, token: str, link: Invitation) -> HttpResponse:
    """Ask for a password, and a sign-in name from somebody new; then lead to the door."""
    form = form_of(request, link)
    if form.is_valid():
        try:
            person = accept(token, **form.cleaned_data)
        except FraginvError as error:
            form.add_error(None, error.message)
        else:
            return come_in(request, person, wanted="/")  # a second step is asked for there
    page = {
        "link": link,
        "form": form,
        "role_text": ROLE_TEXTS[Role(link.role)],
        "rights": rights_in_words(Role(link.role)),
    }
    return render(request, "people/accept.html", page, status=form_status(form))


def form_of(request: HttpRequest, link: Invitation) -> AcceptForm | ResetForm:
    """Return the form that a link asks to be filled in."""
    if link.person is not None:
        return ResetForm(sent(request), initial={"username": link.person.username})
    return AcceptForm(sent(request), initial={"username": propose_username(link.name)})
