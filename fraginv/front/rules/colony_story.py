"""A colony's story in words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from fraginv.stock.rules.colonies import BAR_KINDS, ColonyKind
from fraginv.stock.rules.stages import CAUSES

Body = Mapping[str, Any]

# What a log calls the columns of a colony.
FIELDS: Final[dict[str, str]] = {
    "origin": "origin",
    "acquired_on": "here since",
    "supplier": "from whom",
    "invoice": "invoice",
    "permit": "permit",
    "source_code": "source code",
    "no_paper_because": "why there is no paper",
    "rest_days": "days of rest",
    "most_pieces": "most pieces per cutting",
    "note": "note",
}


@dataclass(frozen=True)
class Known:
    """Names of what bodies of a colony's events hold ids of.

    ``bars`` are kind, reason and why each was lifted.
    """

    racks: Mapping[int, str] = field(default_factory=dict)
    parties: Mapping[int, str] = field(default_factory=dict)
    frags: Mapping[int, str] = field(default_factory=dict)
    papers: Mapping[int, str] = field(default_factory=dict)
    bars: Mapping[int, tuple[str, str, str]] = field(default_factory=dict)


def tell_event(kind: str, body: Body, *, known: Known) -> str:
    """Say what happened to a colony in one short line."""
    return TELLERS[ColonyKind(kind)](body, known)


def noted(body: Body, name: str = "note") -> str:
    """Say the note that was made, or nothing."""
    return f": {body[name]}" if body.get(name) else ""


def tell_changed(body: Body, known: Known) -> str:
    """Tell what was changed, and what it was before."""
    was = body.get("was", {})
    parts = [told_field(name, was[name], known) for name in FIELDS if name in was]
    parts += ["owner or terms"] if body.get("terms") else []
    return f"Changed: {', '.join(parts)}"


def told_field(name: str, value: Any, known: Known) -> str:
    """Name a column, and say what stood in it before where that is short."""
    word = FIELDS.get(name, name)
    if name == "note":
        return word
    if name == "supplier":
        value = known.parties.get(value or 0, "")
    return f"{word} (was {value})" if value not in (None, "") else f"{word} (was not known)"


def tell_moved(body: Body, known: Known) -> str:
    """Tell from where to where it was moved."""
    if body.get("rack") is None:
        return f"Taken out of its rack{noted(body, 'despite')}"
    return f"Moved to {known.racks.get(body['rack'], 'a rack')}{noted(body, 'despite')}"


def tell_barred(body: Body, known: Known) -> str:
    """Tell a bar."""
    kind, reason, _ = known.bars.get(body["bar"], ("", "", ""))
    return f"Barred, {BAR_KINDS.get(kind, 'for a reason').lower()}: {reason}"


def tell_lifted(body: Body, known: Known) -> str:
    """Tell that a bar was lifted."""
    _, _, because = known.bars.get(body["bar"], ("", "", ""))
    return f"The bar was lifted: {because}"


def tell_died(body: Body, known: Known) -> str:
    """Tell its death."""
    return f"Died, {CAUSES.get(body['cause'], body['cause'])}{noted(body)}"


def tell_given(body: Body, known: Known) -> str:
    """Tell to whom it was given."""
    return f"Given to {known.parties.get(body['to'], 'somebody')}{noted(body)}"


TELLERS: Final[Mapping[ColonyKind, Callable[[Body, Known], str]]] = {
    ColonyKind.CAME_IN: lambda body, known: "Here as a colony",
    ColonyKind.KEPT: lambda body, known: (
        f"Kept as a colony from {known.frags.get(body['frag'], 'a frag')}"
    ),
    ColonyKind.CHANGED: tell_changed,
    ColonyKind.MOVED: tell_moved,
    ColonyKind.PAPER: lambda body, known: (
        f"Paper filed: {known.papers.get(body['paper'], 'a paper')}"
    ),
    ColonyKind.BARRED: tell_barred,
    ColonyKind.LIFTED: tell_lifted,
    ColonyKind.DIED: tell_died,
    ColonyKind.GIVEN: tell_given,
    ColonyKind.DISPLAYED: lambda body, known: f"Placed in the display{noted(body)}",
    ColonyKind.SOLD_WHOLE: lambda body, known: (
        f"Offered whole as {known.frags.get(body['frag'], 'a piece')}"
    ),
    ColonyKind.BACK: lambda body, known: f"Back again{noted(body, 'because')}",
}
