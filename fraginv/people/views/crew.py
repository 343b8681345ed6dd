"""Who is on the crew: the list, one person, and what an owner does about them."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, tell, write_once
from fraginv.people.actions.crew import (
    change_person,
    deactivate,
    reactivate,
    sign_out_everywhere,
    take_factor,
)
from fraginv.people.forms.crew import PersonForm
from fraginv.people.queries.crew import crew_page, events_of, get_member
from fraginv.people.queries.invitations import invitations_open
from fraginv.people.rules.words import EVENT_TEXTS, rights_in_words

PEOPLE_ON_A_PAGE = 50


def people_list(request: HttpRequest) -> HttpResponse:
    """Show everybody, and the links that still let somebody in."""
    page = {
        "page": crew_page(size=PEOPLE_ON_A_PAGE, after=after_asked(request)),
        "invitations": list(invitations_open()),
    }
    return render(request, "people/crew_list.html", page)


def person(request: HttpRequest, person_id: int) -> HttpResponse:
    """Show one person and what was done about them; change name, role and address."""
    member = get_member(person_id)
    known = {"name": member.name, "role": member.role, "email": member.email}
    form = PersonForm(sent(request), initial=known)

    def do() -> str:
        change_person(person_id, by=person_of(request), **form.values())
        return reverse("people:person", args=[person_id])

    done = submit(request, form, do)
    if done is not None:
        tell(request, ["Saved."])
        return done
    page = {
        "member": member,
        "is_me": member.pk == person_of(request).pk,
        "form": form,
        "rights": rights_in_words(Role(member.role)),
        "events": [(event, EVENT_TEXTS[event.kind]) for event in events_of(member)],
    }
    return render(request, "people/person_detail.html", page, status=form_status(form))


def about(
    request: HttpRequest, person_id: int, do: Callable[..., Person], said: str
) -> HttpResponse:
    """Do one thing about a person and go back to their page.

    Args: ``said`` is what is told then, with ``{name}`` in it.
    """

    def act() -> str:
        member = do(person_id, by=person_of(request))
        told[:] = [said.format(name=member.name)]
        return reverse("people:person", args=[person_id])

    told: list[str] = []
    done = write_once(request, act)
    tell(request, told)
    return done


def put_out(request: HttpRequest, person_id: int) -> HttpResponse:
    """Put a person out."""
    said = "{name} is put out and cannot sign in. The name stays on all papers."
    return about(request, person_id, deactivate, said)


def let_in(request: HttpRequest, person_id: int) -> HttpResponse:
    """Let a person in again."""
    return about(request, person_id, reactivate, "{name} may sign in again, with the old password.")


def end_visits(request: HttpRequest, person_id: int) -> HttpResponse:
    """Sign a person out wherever they are."""
    said = "{name} is signed out on every phone and computer."
    return about(request, person_id, sign_out_everywhere, said)


def factor_off(request: HttpRequest, person_id: int) -> HttpResponse:
    """Take the second step off somebody who lost the phone."""
    said = "{name} signs in with the password alone now, and can set up another phone."
    return about(request, person_id, take_factor, said)
