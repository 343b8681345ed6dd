"""What can be done next with a frag, as buttons."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right
from fraginv.front.queries.pages import FragPage
from fraginv.stock.rules.stages import LIVING, SIZES, Stage


@dataclass(frozen=True)
class Step:
    """One button: words, icon, where it leads.

    ``post`` does it at once, with ``name`` and ``value`` as what is sent;
    ``style`` is primary, danger or nothing; ``confirm`` is a last question.
    """

    label: str
    icon: str
    url: str
    style: str = ""
    post: bool = False
    name: str = ""
    value: str = ""
    confirm: str = ""

    @property
    def leads(self) -> bool:
        """Tell whether the button stands before all others."""
        return self.style == "primary"


@dataclass(frozen=True)
class Offer:
    """A step that some may take with some frags; ``by_query`` names the frag in the query."""

    right: Right
    applies: Callable[[FragPage], bool]
    label: str
    icon: str
    view: str
    by_query: bool = False
    post: bool = False
    sent: tuple[str, str] = ("", "")
    style: str = ""
    confirm: str = ""


def is_living(page: FragPage) -> bool:
    """Tell whether the frag is in the troughs."""
    return page.frag.stage in LIVING


def is_away(page: FragPage) -> bool:
    """Tell whether the frag is set apart or in quarantine."""
    return is_living(page) and (page.frag.apart or page.frag.quarantined)


def is_for_sale(page: FragPage) -> bool:
    """Tell whether there is a piece that may be sold or put aside now."""
    return not page.not_for_sale and page.free >= 1


OFFERS = (
    Offer(
        Right.SELL,
        is_for_sale,
        "Sell",
        "hand-coins",
        "trade:sell",
        by_query=True,
        style="primary",
    ),
    Offer(Right.HOLD, is_for_sale, "Put aside", "hand", "trade:hold"),
    Offer(
        Right.GRADE,
        lambda page: page.frag.stage == Stage.HEALING,
        "Healed",
        "heart-pulse",
        "stock:healed",
        by_query=True,
        post=True,
        style="primary",
    ),
    Offer(Right.FILE_PHOTO, is_living, "Photo", "camera", "growth:add_photo"),
    Offer(
        Right.PRINT_LABELS,
        is_living,
        "Label",
        "printer",
        "labels:print",
        by_query=True,
    ),
    Offer(
        Right.PRINT_LABELS,
        is_living,
        "Label lost",
        "search-x",
        "labels:lost",
        by_query=True,
        post=True,
    ),
    Offer(Right.PLACE, is_living, "Place", "map-pin", "stock:place", by_query=True),
    Offer(
        Right.GRADE,
        lambda page: page.frag.stage == Stage.READY,
        "Not ready after all",
        "undo-2",
        "stock:not_ready",
        by_query=True,
        post=True,
        confirm="Take it back to growing? It is not for sale until it is graded ready again.",
    ),
    Offer(Right.GRADE, is_away, "Release", "undo-2", "stock:release", post=True),
    Offer(
        Right.GRADE,
        lambda page: is_living(page) and not page.frag.apart,
        "Set apart",
        "split",
        "stock:set_apart",
    ),
    Offer(
        Right.GRADE,
        lambda page: is_living(page) and not page.frag.quarantined,
        "Quarantine",
        "shield-alert",
        "stock:quarantine",
    ),
    Offer(
        Right.GRADE,
        lambda page: is_living(page) and not page.frag.kept_back,
        "Keep back",
        "bookmark",
        "stock:keep_back",
        post=True,
        sent=("kept", "yes"),
    ),
    Offer(
        Right.GRADE,
        lambda page: is_living(page) and page.frag.kept_back,
        "No longer kept back",
        "bookmark-x",
        "stock:keep_back",
        post=True,
        sent=("kept", "no"),
    ),
    Offer(
        Right.ADD_STOCK,
        lambda page: is_living(page) and page.free == page.frag.pieces,
        "Keep as a colony",
        "shell",
        "stock:keep_as_colony",
    ),
    Offer(
        Right.RECORD_LOSS,
        is_living,
        "Record a loss",
        "circle-x",
        "stock:lose",
        style="danger",
    ),
)


# Whoever has one of these finds something to do with many ticked frags.
WITH_MANY = (Right.SELL, Right.GRADE, Right.PLACE, Right.PRINT_LABELS)


def may_choose(person: Person) -> bool:
    """Tell whether a person can do anything with frags that were ticked in a list."""
    return any(person.can(right) for right in WITH_MANY)


def steps_for(page: FragPage, person: Person) -> list[Step]:
    """Return the buttons that a person may press on a frag's page, the most likely first."""
    return steps_from(OFFERS, page, person)


def steps_from(offers: Iterable[Offer], page: FragPage, person: Person) -> list[Step]:
    """Return the buttons that a person may press, of some that are offered."""
    return [
        Step(
            offer.label,
            offer.icon,
            url_of(offer, page.frag.code_id),
            offer.style,
            offer.post,
            *offer.sent,
            offer.confirm,
        )
        for offer in offers
        if person.can(offer.right) and offer.applies(page)
    ]


def sizes_for(page: FragPage, person: Person) -> list[tuple[str, str]]:
    """Return the sizes at which a person may grade the frag with one tap, with their words."""
    if not (is_living(page) and person.can(Right.GRADE)):
        return []
    return [(size, "Mini" if size == "mini" else words) for size, words in SIZES.items()]


def url_of(offer: Offer, code: str) -> str:
    """Return where a button leads."""
    if offer.by_query:
        return reverse(offer.view) + ("" if offer.post else f"?{urlencode({'codes': code})}")
    return reverse(offer.view, args=[code])
