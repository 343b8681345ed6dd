"""Links that let somebody in for the first time, or set a new password."""

from dataclasses import dataclass

from django.urls import reverse

from fraginv.base import chance, clock
from fraginv.base.actions.founding import add_person, refuse_unfit
from fraginv.base.errors import Conflict, Gone, InputError
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.base.rules.secrets import hash_of
from fraginv.base.transactions import one_transaction
from fraginv.people.actions.crew import refuse_no_owner
from fraginv.people.actions.factors import remove_factor
from fraginv.people.actions.mailing import mail_link_later
from fraginv.people.actions.passwords import note, set_password, withdraw_all
from fraginv.people.models import CrewEvent, Invitation
from fraginv.people.queries.crew import get_member, member_named
from fraginv.people.queries.invitations import get_invitation, invitation_of
from fraginv.people.rules.invitations import CLOSED, INVITE, LIVES, RESET, State

OWN_RESET = "For yourself, change your password on your own page; that asks for the old one."


@dataclass(frozen=True)
class Link:
    """A link that was just made; its token is known now and never again."""

    invitation: Invitation
    token: str
    mailed: bool = False

    @property
    def path(self) -> str:
        """Return the path of the page that it opens."""
        return reverse("people:accept", args=[self.token])


@one_transaction
def make_link(
    kind: str,
    *,
    name: str,
    role: Role,
    email: str,
    by: Person,
    person: Person | None = None,
    site: str = "",
) -> Link:
    """Draw a token and keep its hash; mail it where there is an address, and ``site`` is known.

    Raises: InputError for an empty or long name, or no address.
    """
    if not name.strip():
        raise InputError("The person needs a name.")
    token, now = chance.token(), clock.now()
    row = Invitation(
        kind=kind,
        token_hash=hash_of(token),
        name=name.strip(),
        role=role.value,
        email=email.strip(),
        person=person,
        by=by,
        made_at=now,
        ends_at=now + LIVES[kind],
    )
    refuse_unfit(row)
    row.save(force_insert=True)
    return Link(row, token, mail_link_later(row, token=token, site=site))


@one_transaction
def invite(name: str, *, role: Role, email: str, by: Person, site: str = "") -> Link:
    """Make a link by which somebody new chooses a sign-in name and a password.

    Raises: InputError as ``make_link``; NotAllowed.
    """
    refuse_no_owner(by)
    return make_link(INVITE, name=name, role=role, email=email, by=by, site=site)


@one_transaction
def offer_reset(person_id: int, *, by: Person, site: str = "") -> Link:
    """Make a link by which somebody else chooses a new password; older ones are withdrawn.

    Who makes it never learns the password, and a second factor stays.

    Raises: Conflict for oneself and for somebody who was put out; NotAllowed, NotFound.
    Source: OWASP ASVS 5.0, 6.4.3 and 6.4.6.
    """
    refuse_no_owner(by)
    person = get_member(person_id)
    if person.pk == by.pk:
        raise Conflict(OWN_RESET)
    return reset_link(person, by=by, site=site)


@one_transaction
def reset_at_the_machine(username: str, *, takes_factor: bool = False) -> Link:
    """Make a reset link for anybody, at the machine itself, where nobody is signed in.

    It stands in nobody else's name: link and event are the person's own, and say where.
    Args: ``takes_factor`` takes the second step off as well.
    Raises: Conflict for somebody who was put out; NotFound.
    """
    person = member_named(username)
    if takes_factor:
        remove_factor(person.pk, by=person)
    return reset_link(person, by=person, kind=CrewEvent.Kind.MACHINE)


@one_transaction
def reset_link(
    person: Person, *, by: Person, site: str = "", kind: str = CrewEvent.Kind.RESET
) -> Link:
    """Make a reset link and withdraw older ones.

    Raises: Conflict for somebody who was put out.
    """
    if not person.is_active:
        raise Conflict(f"{person.name} was put out. Let them in again first.")
    withdraw_all(Invitation.objects.filter(person=person))
    note(person, kind=kind, by=by)
    return make_link(
        RESET,
        name=person.name,
        role=Role(person.role),
        email=person.email,
        by=by,
        person=person,
        site=site,
    )


@one_transaction
def renew(invitation_id: int, *, by: Person, site: str = "") -> Link:
    """Make another link in place of one that is lost or too old; the old one is withdrawn.

    Raises: Conflict where the old one was used, or as ``offer_reset``; NotAllowed, NotFound.
    """
    old = withdraw(invitation_id, by=by)
    if old.person is not None:
        return offer_reset(old.person.pk, by=by, site=site)
    return invite(old.name, role=Role(old.role), email=old.email, by=by, site=site)


@one_transaction
def withdraw(invitation_id: int, *, by: Person) -> Invitation:
    """Let a link lead nowhere any more.

    Raises: Conflict where it was used; NotAllowed, NotFound.
    """
    refuse_no_owner(by)
    found = get_invitation(invitation_id)
    withdraw_all(Invitation.objects.filter(pk=invitation_id))
    if get_invitation(invitation_id).used_at is not None:
        raise Conflict(f"The link for {found.name} was used in the meantime. Look at the list.")
    return found


@one_transaction
def use_up(token: str) -> Invitation:
    """Use a link, once: of two at the same moment, one finds it used.

    Raises: NotFound, Gone.
    """
    found = invitation_of(token)
    still_open = Invitation.objects.filter(pk=found.pk, used_at=None, withdrawn_at=None)
    if not still_open.update(used_at=clock.now()):
        raise Gone(CLOSED[State.USED])
    return found


@one_transaction
def accept(token: str, *, username: str, password: str) -> Person:
    """Let the person of a link in with a password of their own.

    An invitation makes somebody new, under ``username``; a reset gives the
    person of the link another password, and all their visits end.

    Raises: InputError, Conflict as ``add_person`` and ``set_password``, and the
        link stays good; NotFound, Gone.
    """
    link = use_up(token)
    if link.person is not None:
        return set_password(link.person, password=password, by=link.person)
    person = add_person(
        username, name=link.name, role=Role(link.role), password=password, email=link.email
    )
    note(person, kind=CrewEvent.Kind.JOINED, became=link.role, by=link.by)
    return person
