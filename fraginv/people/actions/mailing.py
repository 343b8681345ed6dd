"""Mail to people about their ways in, sent by a worker."""

from datetime import datetime

from django.conf import settings
from django.core.mail import send_mail
from django.urls import reverse
from django.utils.crypto import salted_hmac

from fraginv.base import clock
from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.show import show_moment
from fraginv.base.tasks import later, run_later
from fraginv.people.models import Invitation
from fraginv.people.queries.invitations import invitation_of
from fraginv.people.rules.mails import changed_mail, link_mail
from fraginv.people.rules.tokens import seal, unseal


def sealing_key() -> bytes:
    """Return the key that tokens are sealed with, which follows from the signing key."""
    return salted_hmac("fraginv.people.mail", "", algorithm="sha256").digest()


def mail_link_later(invitation: Invitation, *, token: str, site: str) -> bool:
    """Let a link be mailed, if there is an address and mail can go.

    Args: ``site`` is how the pages are reached, such as ``https://reef.example``;
        empty where that is not known.
    Returns: whether it is on its way.
    Queries: 1, or none where nothing is mailed.
    """
    if not (site and invitation.email and settings.MAIL_IS_SET):
        return False
    sealed = seal(token, key=sealing_key())
    run_later(mail_link, sealed=sealed, site=site)
    return True


@later(title="Mail a link")
def mail_link(*, sealed: str, site: str) -> None:
    """Mail a link; one that was used, withdrawn or is too old meanwhile is not sent.

    Queries: 2.
    """
    token = unseal(sealed, key=sealing_key())
    try:
        link = invitation_of(token)
    except FraginvError:
        return
    house = organisation()
    subject, text = link_mail(
        house=house.name,
        name=link.name,
        by=link.by.name,
        role=link.role,
        is_reset=link.person is not None,
        address=site + reverse("people:accept", args=[token]),
        until=show_moment(link.ends_at, house),
    )
    send_mail(subject, text, None, [link.email])


def mail_changed_later(person: Person) -> None:
    """Let a person be told of a new password, if there is an address and mail can go.

    Queries: 1, or none where nothing is mailed.
    """
    if person.email and settings.MAIL_IS_SET:
        run_later(mail_changed, person_id=person.pk, at=clock.now().isoformat())


@later(title="Tell somebody of a new password")
def mail_changed(*, person_id: int, at: str) -> None:
    """Tell a person that the password was changed.

    Args: ``at`` is the moment, as in ISO 8601.
    Queries: 2.
    """
    person, house = Person.objects.get(pk=person_id), organisation()
    moment = show_moment(datetime.fromisoformat(at), house)
    subject, text = changed_mail(house=house.name, name=person.name, at=moment)
    send_mail(subject, text, None, [person.email])
