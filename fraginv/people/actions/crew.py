"""Changing who is on the crew: only owners do, and there is always one."""

from fraginv.base.actions.founding import refuse_unfit
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.base.transactions import one_transaction
from fraginv.people.actions.factors import remove_factor
from fraginv.people.actions.passwords import end_visits, leave_everywhere, note, withdraw_all
from fraginv.people.models import CrewEvent, Invitation
from fraginv.people.queries.crew import get_member, owners_locked
from fraginv.people.rules.crew import STRANGER, why_not_change

Kind = CrewEvent.Kind


@one_transaction
def refuse_no_owner(by: Person) -> list[int]:
    """Refuse who is no owner at this moment, whatever was read before.

    Returns: who is one.
    Raises: NotAllowed.
    Lock: the owners' rows, until the transaction ends.
    """
    owners = owners_locked()
    if by.pk not in owners:
        raise NotAllowed(STRANGER)
    return owners


@one_transaction
def change_person(person_id: int, *, name: str, role: Role, email: str, by: Person) -> Person:
    """Change a person's name, role and address; another role ends the person's visits.

    Raises: InputError for an empty or long name or no address; Conflict for one's own
        role and for the last owner's; NotAllowed, NotFound.
    """
    owners = refuse_no_owner(by)
    person = get_member(person_id)
    if role.value != person.role:
        refuse_change(person, by=by, owners=owners, stays_owner=role is Role.OWNER)
    was = Person(name=person.name, role=person.role, email=person.email)
    person.name, person.role, person.email = name.strip(), role.value, email.strip()
    if not person.name:
        raise InputError("A person needs a name.")
    refuse_unfit(person)
    person.save(update_fields=["name", "role", "email"])
    if person.name != was.name:
        note(person, kind=Kind.RENAMED, by=by)
    if person.email != was.email:
        note(person, kind=Kind.ADDRESS, by=by)
    if person.role != was.role:
        note(person, kind=Kind.ROLE, was=was.role, became=person.role, by=by)
        end_visits(person)
        withdraw_all(Invitation.objects.filter(by=person))
    return person


def refuse_change(person: Person, *, by: Person, owners: list[int], stays_owner: bool) -> None:
    """Refuse what would leave no owner, or what somebody does to themselves.

    Raises: Conflict.
    """
    why = why_not_change(
        person.pk, name=person.name, by_id=by.pk, owners=owners, stays_owner=stays_owner
    )
    if why:
        raise Conflict(why)


@one_transaction
def deactivate(person_id: int, *, by: Person) -> Person:
    """Put a person out: no more signing in; every paper and event keeps the name.

    Visits end, and so do links that the person made or was given.

    Raises: Conflict for oneself and for the last owner; NotAllowed, NotFound.
    """
    owners = refuse_no_owner(by)
    person = get_member(person_id)
    refuse_change(person, by=by, owners=owners, stays_owner=False)
    if person.is_active:
        person.is_active = False
        person.save(update_fields=["is_active"])
        end_visits(person)
        withdraw_all(Invitation.objects.filter(by=person))
        withdraw_all(Invitation.objects.filter(person=person))
        note(person, kind=Kind.LEFT, by=by)
    return person


@one_transaction
def reactivate(person_id: int, *, by: Person) -> Person:
    """Let a person in again, with the password they had.

    Raises: NotAllowed, NotFound.
    """
    refuse_no_owner(by)
    person = get_member(person_id)
    if not person.is_active:
        person.is_active = True
        person.save(update_fields=["is_active"])
        note(person, kind=Kind.BACK, by=by)
    return person


@one_transaction
def sign_out_everywhere(person_id: int, *, by: Person) -> Person:
    """End all visits of somebody whose phone was lost.

    Raises: NotAllowed, NotFound.
    """
    refuse_no_owner(by)
    person = get_member(person_id)
    leave_everywhere(person, by=by)
    return person


@one_transaction
def take_factor(person_id: int, *, by: Person) -> Person:
    """Take the second step off somebody who lost the phone with its key.

    Raises: NotAllowed, NotFound.
    """
    refuse_no_owner(by)
    person = get_member(person_id)
    remove_factor(person_id, by=by)
    return person
