"""Reading who is on the crew."""

from django.db.models import Exists, OuterRef, QuerySet
from django_otp.plugins.otp_totp.models import TOTPDevice

from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.roles import Role
from fraginv.people.models import CrewEvent

EVENTS_SHOWN = 50
ORDER = ("name", "pk")


def crew() -> QuerySet[Person]:
    """Return everybody by name, also who was put out, each with ``has_factor``.

    Queries: none until it is read, then 1.
    """
    factor = TOTPDevice.objects.filter(user=OuterRef("pk"), confirmed=True)
    return Person.objects.annotate(has_factor=Exists(factor)).order_by(*ORDER)


def crew_page(*, size: int, after: int | None) -> Portion[Person]:
    """Return a page of everybody by name.

    Queries: as ``portion_of``.
    """
    return portion_of(crew(), order=ORDER, size=size, after=after)


def get_member(person_id: int) -> Person:
    """Return one of the crew with ``has_factor``, also somebody who was put out.

    Raises: NotFound.
    Queries: 1.
    """
    found = crew().filter(pk=person_id).first()
    if found is None:
        raise NotFound("There is nobody with this number. Look at the list of people.")
    return found


def member_named(username: str) -> Person:
    """Return who signs in with a name.

    Raises: NotFound, naming who there is.
    Queries: 1, and 1 more where there is nobody of that name.
    """
    found = Person.objects.filter(username=username.strip().lower()).first()
    if found is None:
        names = Person.objects.order_by("username").values_list("username", flat=True)
        raise NotFound(f"Nobody signs in as {username!r}. There are: {', '.join(names)}.")
    return found


def owners_locked() -> list[int]:
    """Return who is an owner and may sign in, and keep it so until the transaction ends.

    Of two owners who put each other out at once, the second finds that it is none any more.
    On SQLite every transaction that writes stands alone anyway.

    Lock: the owners' rows.
    Queries: 1.
    """
    owners = Person.objects.select_for_update().filter(role=Role.OWNER.value, is_active=True)
    return list(owners.order_by("pk").values_list("pk", flat=True))


def events_of(person: Person) -> list[CrewEvent]:
    """Return what was done about a person, the latest first, with who did it.

    Queries: 1.
    """
    rows = CrewEvent.objects.filter(person=person).select_related("by")
    return list(rows.order_by("-at", "-pk")[:EVENTS_SHOWN])
