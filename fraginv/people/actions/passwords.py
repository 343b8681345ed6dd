"""Passwords and visits: a new one ends what the old one opened."""

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.models.people import new_salt
from fraginv.base.passwords import refuse_weak
from fraginv.base.transactions import one_transaction
from fraginv.people.actions.mailing import mail_changed_later
from fraginv.people.models import CrewEvent, Invitation

SAME = "This is the password that you have. Choose another."


@one_transaction
def note(person: Person, *, kind: str, by: Person, was: str = "", became: str = "") -> CrewEvent:
    """Write down what was done about a person."""
    return CrewEvent.objects.create(
        person=person, kind=kind, was=was, became=became, by=by, at=clock.now()
    )


@one_transaction
def set_password(person: Person, *, password: str, by: Person) -> Person:
    """Give a person another password; all their visits and open reset links end.

    Args: ``person`` as just read; its row is written.
    Raises: InputError for one that is easy to guess, or that the person has already.
    """
    refuse_weak(password, person=person)
    if person.check_password(password):
        raise InputError(SAME)
    person.set_password(password)
    person.session_salt = new_salt()
    person.save(update_fields=["password", "session_salt"])
    withdraw_all(Invitation.objects.filter(person=person))
    note(person, kind=CrewEvent.Kind.PASSWORD, by=by)
    mail_changed_later(person)
    return person


@one_transaction
def change_own_password(person_id: int, *, password: str) -> Person:
    """Give oneself another password; whoever asks has shown to know the present one.

    Raises: InputError as ``set_password``.
    """
    person = Person.objects.get(pk=person_id)
    return set_password(person, password=password, by=person)


@one_transaction
def end_visits(person: Person) -> None:
    """End all of a person's visits, wherever they are."""
    person.session_salt = new_salt()
    person.save(update_fields=["session_salt"])


@one_transaction
def leave_everywhere(person: Person, *, by: Person) -> None:
    """End all visits of a person who asked for it, or whom an owner signs out."""
    end_visits(person)
    note(person, kind=CrewEvent.Kind.ENDED, by=by)


@one_transaction
def withdraw_all(links: QuerySet[Invitation]) -> int:
    """Withdraw those of some links that are neither used nor withdrawn.

    Returns: how many they were.
    """
    return links.filter(used_at=None, withdrawn_at=None).update(withdrawn_at=clock.now())
