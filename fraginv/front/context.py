"""Where the navigation leads."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from django.http import HttpRequest
from django.urls import get_script_prefix, reverse

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


# On a phone the first four that a person may open stand in the bar.
ITEMS = (
    Item("Today", "sun", "front:today"),
    Item("Scan", "scan-line", "front:scan", Right.SEE_STOCK),
    Item("Frags", "sprout", "front:frags", Right.SEE_STOCK),
    Item("Sell", "hand-coins", "trade:sell", Right.SELL),
    Item("Rounds", "footprints", "front:rounds", Right.GRADE),
    Item("Bench", "scissors", "front:bench", Right.CUT),
    Item("Colonies", "shell", "front:colonies", Right.SEE_STOCK),
    Item("Labels", "printer", "labels:print", Right.PRINT_LABELS),
    Item("Availability", "list", "sheets:sheet", Right.SEE_PRICES),
    Item("Sales", "receipt", "trade:sales", Right.SEE_PAPERS),
    Item("Customers", "users", "trade:customers", Right.SEE_CUSTOMERS),
    Item("Prices", "tags", "trade:prices", Right.SEE_PRICES),
    Item("Month", "chart-column", "reports:latest", Right.SEE_MONEY),
    Item("Running costs", "wallet", "costs:bills", Right.SEE_MONEY),
    Item("Ledger", "book-open", "ledger:journal", Right.SEE_MONEY),
    Item("Places", "map-pin", "stock:places", Right.SEE_STOCK),
    Item("Stop-sales", "octagon-minus", "front:stops", Right.SEE_STOCK),
    Item("Quarantine", "shield-alert", "front:quarantine", Right.SEE_STOCK),
    Item("Losses", "circle-x", "reports:losses", Right.SEE_STOCK),
    Item("Water", "droplets", "stock:water", Right.SEE_STOCK),
    Item("Bring in tables", "file-up", "front:load", Right.LOAD_TABLES),
    Item("Upkeep", "heart-pulse", "upkeep:house", Right.RUN_HOUSE),
    Item("People", "user-cog", "people:list", Right.MANAGE_PEOPLE),
)


def navigation(request: HttpRequest) -> dict[str, Any]:
    """Give the destinations that the person may open, and the ways in, out and to find.

    Queries: none.
    """
    doors = {
        "sign_in_url": reverse("people:sign_in"),
        "sign_out_url": reverse("people:sign_out"),
        "change_url": reverse("people:change"),
        "me_url": reverse("people:me"),
    }
    person = getattr(request, "user", None)
    if not isinstance(person, Person):
        return doors | {"navigation": []}
    find_url = reverse("front:find")
    places = places_of(person.role, person.is_active, get_script_prefix())
    here = [item.url for item in places if is_current(request.path, item.url)]
    return doors | {
        "find_url": find_url,
        "answers_url": reverse("front:answers"),
        "organisation_url": reverse("front:organisation"),
        # To be followed by a number, in pages that stand below this floor.
        "trough_pages": reverse("front:trough", args=[0]).removesuffix("0"),
        "system_pages": reverse("front:system", args=[0]).removesuffix("0"),
        "find_promise": find_promise(person),
        "find_text": request.GET.get("q", "") if request.path == find_url else "",
        "navigation": tuple(
            replace(item, current=True) if item.url == max(here, key=len, default="") else item
            for item in places
        ),
    }


@lru_cache(maxsize=64)
def places_of(role: str, is_active: bool, prefix: str) -> tuple[Item, ...]:
    """Return the destinations that a role may open, with their addresses.

    Args: ``prefix`` is where the site is mounted, which the addresses begin with.
    """
    person = Person(role=role, is_active=is_active)
    return tuple(
        replace(item, url=reverse(item.name))
        for item in ITEMS
        if item.right is None or person.can(item.right)
    )


def find_promise(person: Person) -> str:
    """Say what the field on top finds for a person."""
    found = ["a code", "an old code", "a variety", "a genus", "a group", "a rack or trough"]
    if person.can(Right.SEE_CUSTOMERS):
        found.append("a customer")
    if person.can(Right.SEE_PAPERS):
        found.append("a sale's number")
    return f"{', '.join(found[:-1])} or {found[-1]}"


def is_current(path: str, url: str) -> bool:
    """Tell whether a page is a destination, or lies below it."""
    return path == url or (url != "/" and path.startswith(f"{url.rstrip('/')}/"))
