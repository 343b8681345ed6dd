"""Reading who may sign in."""

from django.db.models import QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role


def first_owner() -> Person:
    """Return the owner who has been there longest and may sign in.

    Raises: NotFound.
    Queries: 1.
    """
    found = people_active().filter(role=Role.OWNER.value).order_by("pk").first()
    if found is None:
        raise NotFound("There is no owner yet. Run `python manage.py start` and answer first.")
    return found


def get_person(person_id: int) -> Person:
    """Return somebody, whether or not they may still sign in.

    Raises: NotFound.
    Queries: 1.
    """
    found = Person.objects.filter(pk=person_id).first()
    if found is None:
        raise NotFound("There is no such person.")
    return found


def people_active() -> QuerySet[Person]:
    """Return who may sign in, in the order in which they came.

    Queries: none until it is read, then 1.
    """
    return Person.objects.filter(is_active=True).order_by("pk")
