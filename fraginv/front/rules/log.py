"""A frag's log in words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from fraginv.stock.rules.events import Kind
from fraginv.stock.rules.stages import CAUSES, SIZES, Stage

Body = Mapping[str, Any]
SOMEBODY: Final = "somebody"


@dataclass(frozen=True)
class Names:
    """Names of what bodies of events hold ids of: racks, and who has a claim."""

    racks: Mapping[int, str] = field(default_factory=dict)
    holders: Mapping[int, str] = field(default_factory=dict)


def describe(kind: str, body: Body, *, names: Names) -> str:
    """Say what happened in one short line."""
    tell = TELLERS.get(Kind(kind))
    return tell(body, names) if tell else kind.capitalize()


def pieces(body: Body) -> str:
    """Say how many pieces an event was about."""
    count = body["pieces"]
    return f"{count} piece" if count == 1 else f"{count} pieces"


def because(body: Body, name: str) -> str:
    """Say the reason or note that was given, or nothing."""
    text = body.get(name, "")
    return f": {text}" if text else ""


def place(body: Body, names: Names) -> str:
    """Say in which rack and hole."""
    rack = names.racks.get(body.get("rack") or 0, "a rack")
    row, column = body.get("row"), body.get("column")
    return f"{rack}, row {row}, hole {column}" if row else rack


def holder(body: Body, names: Names) -> str:
    """Say whose claim it is."""
    return names.holders.get(body.get("claim", 0), SOMEBODY)


def tell_begun(word: str) -> Callable[[Body, Names], str]:
    """Return how to tell that a frag began."""

    def tell(body: Body, names: Names) -> str:
        where = f" into {place(body, names)}" if body.get("rack") else ""
        return f"{word}: {pieces(body)}{where}"

    return tell


def tell_inspected(body: Body, names: Names) -> str:
    """Tell a look at it."""
    if body.get("was") == Stage.READY:
        return "Not ready after all, growing"
    return "Healed, growing" if body.get("stage") == Stage.GROWING else "Looked at"


def tell_graded(body: Body, names: Names) -> str:
    """Tell a grading."""
    count = body.get("heads")
    heads = f", {count} {'head' if count == 1 else 'heads'}" if count else ""
    return f"Graded ready, size {SIZES.get(body['size'], body['size'])}{heads}"


def tell_let_go(body: Body, names: Names) -> str:
    """Tell the end of a hold."""
    how = "ran out" if body.get("how") == "ran out" else "was let go"
    return f"The hold of {holder(body, names)} {how}: {pieces(body)}"


def tell_returned(body: Body, names: Names) -> str:
    """Tell what came back."""
    return f"Came back {'alive' if body['alive'] else 'dead'}: {pieces(body)}"


def tell_lost(body: Body, names: Names) -> str:
    """Tell a loss."""
    cause = CAUSES.get(body["cause"], body["cause"])
    return f"Lost: {pieces(body)}, {cause}{because(body, 'note')}"


TELLERS: Final[Mapping[Kind, Callable[[Body, Names], str]]] = {
    Kind.CUT: tell_begun("Cut"),
    Kind.RECEIVED: tell_begun("Came in"),
    Kind.PLACED: lambda body, names: f"Placed in {place(body, names)}",
    Kind.INSPECTED: tell_inspected,
    Kind.PHOTOGRAPHED: lambda body, names: "Photographed",
    Kind.GRADED: tell_graded,
    Kind.SET_APART: lambda body, names: f"Set apart{because(body, 'reason')}",
    Kind.QUARANTINED: lambda body, names: f"Taken to quarantine{because(body, 'reason')}",
    Kind.RELEASED: lambda body, names: "Released",
    Kind.KEPT_BACK: lambda body, names: "Kept back" if body["kept"] else "No longer kept back",
    Kind.HELD: lambda body, names: f"Put aside for {holder(body, names)}: {pieces(body)}",
    Kind.LET_GO: tell_let_go,
    Kind.SOLD: lambda body, names: f"Sold to {holder(body, names)}: {pieces(body)}",
    Kind.RETURNED: tell_returned,
    Kind.LOST: tell_lost,
}
