"""What every template may use."""

from typing import Any

from django.http import HttpRequest

from fraginv.base.models import Person
from fraginv.base.queries.organisation import present
from fraginv.base.rules.roles import Right


def house(request: HttpRequest) -> dict[str, Any]:
    """Give the organisation, and which rights the person has by name.

    Queries: none.
    """
    person = getattr(request, "user", None)
    rights = {right.value: isinstance(person, Person) and person.can(right) for right in Right}
    return {"organisation": present.get(), "can": rights}
