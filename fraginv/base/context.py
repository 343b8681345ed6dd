"""What every template may use."""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
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
    role, is_active = (person.role, person.is_active) if isinstance(person, Person) else ("", False)
    return {"organisation": present.get(), "can": rights_of(role, is_active)}


@lru_cache(maxsize=64)
def rights_of(role: str, is_active: bool) -> Mapping[str, bool]:
    """Tell of each right by its name whether a role covers it; nobody's role is empty."""
    person = Person(role=role, is_active=is_active)
    return MappingProxyType({right.value: bool(role) and person.can(right) for right in Right})
