"""What can be done with a frag more rarely, folded away below the usual steps."""

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right
from fraginv.front.queries.pages import FragPage
from fraginv.front.views.steps import Offer, Step, is_living, steps_from
from fraginv.stock.rules.stages import Stage


def is_lot(page: FragPage) -> bool:
    """Tell whether it is a living lot."""
    return is_living(page) and page.frag.is_lot


def is_many(page: FragPage) -> bool:
    """Tell whether more than one piece lives under its code."""
    return is_living(page) and page.frag.pieces > 1


def is_one(page: FragPage) -> bool:
    """Tell whether one piece lives under its code, of a colony that may be cut."""
    return is_living(page) and page.frag.pieces == 1 and "barred" not in page.flags


def may_be_given(page: FragPage) -> bool:
    """Tell whether a piece may leave as a gift."""
    stays = {"barred", "stop-sale", "apart", "quarantined"} & set(page.flags)
    return is_living(page) and page.free >= 1 and not stays


OFFERS = (
    Offer(
        Right.RECORD_LOSS,
        lambda page: page.frag.stage == Stage.LOST,
        "Found again",
        "search-check",
        "stock:found",
        style="primary",
    ),
    Offer(Right.RECORD_LOSS, is_lot, "Count the lot", "list-checks", "stock:count"),
    Offer(Right.GRADE, is_many, "Split off", "split", "stock:split"),
    Offer(Right.CUT, is_one, "Cut again", "scissors", "stock:recut"),
    Offer(Right.GRADE, is_living, "Grown together", "merge", "stock:join"),
    Offer(Right.GRADE, is_living, "Dip", "droplets", "stock:dip", by_query=True),
    Offer(Right.PLACE, is_living, "New mount", "replace", "stock:remount", by_query=True),
    Offer(Right.PRINT_LABELS, is_living, "New label", "qr-code", "stock:relabel"),
    Offer(Right.GIVE, may_be_given, "Give away", "gift", "stock:give", by_query=True),
)


def further_steps(page: FragPage, person: Person) -> list[Step]:
    """Return the buttons that stand folded away, or before all others where they lead."""
    return steps_from(OFFERS, page, person)
