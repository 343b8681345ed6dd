"""Where the navigation leads."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain
from typing import Any, Final

from django.http import HttpRequest
from django.urls import get_script_prefix, reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right, Role


@dataclass(frozen=True)
class Item:
    """One destination; ``icon`` is a name in the icon library."""

    label: str
    icon: str
    name: str
    right: Right | None = None
    url: str = ""
    current: bool = False


@dataclass(frozen=True)
class Group:
    """Destinations under a word of the job; ``opened`` is whether they show at once at a desk."""

    title: str
    places: tuple[Item, ...]
    opened: bool = False

    @property
    def current(self) -> bool:
        """Tell whether one is in one of them."""
        return any(item.current for item in self.places)


@dataclass(frozen=True)
class Ways:
    """The ways through the house: those of every hour, and the others in groups."""

    first: tuple[Item, ...]
    groups: tuple[Group, ...]


# The first four that a person may open stand before all others, on a phone in the bar.
FIRST = (
    Item("Today", "sun", "front:today"),
    Item("Scan", "scan-line", "front:scan", Right.SEE_STOCK),
    Item("Frags", "sprout", "front:frags", Right.SEE_STOCK),
    Item("Sell", "hand-coins", "trade:sell", Right.SELL),
    Item("Rounds", "footprints", "front:rounds", Right.GRADE),
    Item("Colonies", "shell", "front:colonies", Right.SEE_STOCK),
)
MOST_FIRST: Final = 4

GROUPS = (
    Group(
        "Growing",
        (
            Item("Rounds", "footprints", "front:rounds", Right.GRADE),
            Item("Photos", "camera", "front:photos", Right.FILE_PHOTO),
            Item("Places", "map-pin", "stock:places", Right.SEE_STOCK),
            Item("Losses", "circle-x", "reports:losses", Right.SEE_STOCK),
            Item("Water", "droplets", "stock:water", Right.SEE_STOCK),
        ),
    ),
    Group(
        "Cutting and labels",
        (
            Item("Bench", "scissors", "front:bench", Right.CUT),
            Item("Colonies", "shell", "front:colonies", Right.SEE_STOCK),
            Item("Labels", "printer", "labels:print", Right.PRINT_LABELS),
        ),
    ),
    Group(
        "Set apart and stopped",
        (
            Item("Set apart", "split", "front:apart", Right.SEE_STOCK),
            Item("Quarantine", "shield-alert", "front:quarantine", Right.SEE_STOCK),
            Item("Stop-sales", "octagon-minus", "front:stops", Right.SEE_STOCK),
        ),
    ),
    Group(
        "Selling",
        (
            Item("Availability", "list", "sheets:sheet", Right.SEE_PRICES),
            Item("Sales", "receipt", "trade:sales", Right.SEE_PAPERS),
            Item("Customers", "users", "trade:customers", Right.SEE_CUSTOMERS),
            Item("Prices", "tags", "trade:prices", Right.SEE_PRICES),
        ),
    ),
    Group(
        "Money",
        (
            Item("Month", "chart-column", "reports:latest", Right.SEE_MONEY),
            Item("Running costs", "wallet", "costs:bills", Right.SEE_MONEY),
            Item("Ledger", "book-open", "ledger:journal", Right.SEE_MONEY),
        ),
    ),
    Group(
        "Settings",
        (
            Item("Bring in tables", "file-up", "front:load", Right.LOAD_TABLES),
            Item("People", "user-cog", "people:list", Right.MANAGE_PEOPLE),
            Item("Upkeep", "heart-pulse", "upkeep:house", Right.RUN_HOUSE),
        ),
    ),
)


# The group that shows at once where one is in none of them.
DAILY: Final = {
    Role.GROWER: "Growing",
    Role.SELLER: "Selling",
    Role.MANAGER: "Growing",
    Role.OWNER: "Growing",
    Role.READER: "Money",
}


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
        return doors | {"navigation": None}
    find_url = reverse("front:find")
    ways = ways_of(person.role, person.is_active, get_script_prefix())
    return doors | {
        "find_url": find_url,
        "answers_url": reverse("front:answers"),
        "organisation_url": reverse("front:organisation"),
        "photos_url": reverse("front:photos"),
        # To be followed by a number, in pages that stand below this floor.
        "trough_pages": reverse("front:trough", args=[0]).removesuffix("0"),
        "system_pages": reverse("front:system", args=[0]).removesuffix("0"),
        "find_promise": find_promise(person),
        "find_text": request.GET.get("q", "") if request.path == find_url else "",
        "navigation": standing_at(request.path, ways),
    }


@lru_cache(maxsize=64)
def ways_of(role: str, is_active: bool, prefix: str) -> Ways:
    """Return the destinations that a role may open, with their addresses.

    A group of which it may open none is not there.

    Args: ``prefix`` is where the site is mounted, which the addresses begin with.
    """
    person = Person(role=role, is_active=is_active)

    def open_to(items: Iterable[Item]) -> list[Item]:
        return [
            replace(item, url=reverse(item.name))
            for item in items
            if item.right is None or person.can(item.right)
        ]

    first = open_to(FIRST)[:MOST_FIRST]
    groups = [
        Group(
            group.title,
            tuple(item for item in open_to(group.places) if item not in first),
            opened=group.title == DAILY.get(Role(role)),
        )
        for group in GROUPS
    ]
    return Ways(tuple(first), tuple(group for group in groups if group.places))


def standing_at(path: str, ways: Ways) -> Ways:
    """Return the ways with the one marked that a page is or lies below, and its group opened."""
    everywhere = chain(ways.first, *(group.places for group in ways.groups))
    here = max((i.url for i in everywhere if is_current(path, i.url)), key=len, default="")

    def marked(items: Iterable[Item]) -> tuple[Item, ...]:
        return tuple(replace(item, current=True) if item.url == here else item for item in items)

    groups = [replace(group, places=marked(group.places)) for group in ways.groups]
    if any(group.current for group in groups):
        groups = [replace(group, opened=group.current) for group in groups]
    return Ways(marked(ways.first), tuple(groups))


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
