"""Where the navigation leads."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right


@dataclass(frozen=True)
class Item:
    """One destination; ``icon`` is a name in the icon library."""

    label: str
    icon: str
    name: str
    right: Right | None = None
    url: str = ""
    current: bool = False


ITEMS = (Item("Today", "sun", "front:today"),)


def navigation(request: HttpRequest) -> dict[str, Any]:
    """Give the destinations that the person may open.

    Queries: none.
    """
    person = getattr(request, "user", None)
    if not isinstance(person, Person):
        return {"navigation": []}
    return {
        "navigation": [
            Item(item.label, item.icon, item.name, item.right, url, request.path == url)
            for item in ITEMS
            if item.right is None or person.can(item.right)
            for url in [reverse(item.name)]
        ]
    }
