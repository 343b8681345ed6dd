"""Reading links that let somebody in."""

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.errors import Gone, NotFound
from fraginv.base.rules.secrets import hash_of
from fraginv.people.models import Invitation
from fraginv.people.rules.invitations import CLOSED, UNKNOWN, State, state_of


def invitations_open() -> QuerySet[Invitation]:
    """Return the links that still let somebody in, the latest first, with who made them.

    Queries: none until it is read, then 1.
    """
    rows = Invitation.objects.filter(used_at=None, withdrawn_at=None, ends_at__gt=clock.now())
    return rows.select_related("by", "person").order_by("-made_at", "-pk")


def get_invitation(invitation_id: int) -> Invitation:
    """Return a link's row by its number.

    Raises: NotFound.
    Queries: 1.
    """
    found = Invitation.objects.select_related("person").filter(pk=invitation_id).first()
    if found is None:
        raise NotFound("There is no invitation with this number. Look at the list of people.")
    return found


def invitation_of(token: str) -> Invitation:
    """Return the link that a token belongs to, if it still lets somebody in.

    Raises: NotFound for a token that there is none of; Gone for a link that was
        used or withdrawn, or is too old. Neither says whom it was for.
    Queries: 1.
    """
    rows = Invitation.objects.select_related("by", "person")
    found = rows.filter(token_hash=hash_of(token)).first()
    if found is None:
        raise NotFound(UNKNOWN)
    refuse_closed(found)
    return found


def refuse_closed(invitation: Invitation) -> None:
    """Refuse a link that lets nobody in any more.

    Raises: Gone.
    """
    state = state_of(
        used_at=invitation.used_at,
        withdrawn_at=invitation.withdrawn_at,
        ends_at=invitation.ends_at,
        now=clock.now(),
    )
    if state is not State.OPEN:
        raise Gone(CLOSED[state])
    if invitation.person is not None and not invitation.person.is_active:
        raise Gone(CLOSED[State.WITHDRAWN])
