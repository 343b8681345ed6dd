"""One's own page: what one may do, the password, and leaving everywhere."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.base.web import form_status, person_of, sent, submit, tell, write_once
from fraginv.people.actions.passwords import change_own_password, leave_everywhere
from fraginv.people.forms.me import ChangePasswordForm
from fraginv.people.queries.factors import has_factor
from fraginv.people.rules.words import ROLE_TEXTS, rights_in_words
from fraginv.people.views.coming import person_by_password

WRONG = "This is not your present password. Look at it again."


def me(request: HttpRequest) -> HttpResponse:
    """Show who is signed in and what they may do."""
    person = person_of(request)
    page = {
        "person": person,
        "role_text": ROLE_TEXTS[Role(person.role)],
        "rights": rights_in_words(Role(person.role)),
        "has_factor": has_factor(person),
    }
    return render(request, "people/me.html", page)


def password(request: HttpRequest) -> HttpResponse:
    """Change one's own password; this visit goes on, all others end."""
    person = person_of(request)
    form = ChangePasswordForm(sent(request))
    if form.is_valid():
        present = form.cleaned_data["present"]
        person_by_password(request, form, username=person.username, password=present, wrong=WRONG)
    changed: list[Person] = []

    def do() -> str:
        changed[:] = [change_own_password(person.pk, password=form.cleaned_data["password"])]
        return reverse("people:me")

    done = submit(request, form, do)
    if done is not None:
        for one in changed:
            update_session_auth_hash(request, one)
        tell(request, ["Your password is changed. Everywhere else you are signed out."])
        return done
    return render(request, "people/password_form.html", {"form": form}, status=form_status(form))


def leave(request: HttpRequest) -> HttpResponse:
    """Sign out everywhere, here too."""

    def do() -> str:
        leave_everywhere(person_of(request), by=person_of(request))
        return str(settings.LOGIN_URL)

    done = write_once(request, do)
    logout(request)
    messages.success(request, "You are signed out on every phone and computer.")
    return done
