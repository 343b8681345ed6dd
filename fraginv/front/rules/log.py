"""A frag's log in words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.holds import DIED
from fraginv.stock.rules.stages import CAUSES, GIFTS, MEDIUMS, SIZES, TROUBLES, Stage

Body = Mapping[str, Any]
SOMEBODY: Final = "somebody"
FEW: Final = 12


@dataclass(frozen=True)
class Names:
    """Names of what bodies of events hold ids of: racks, who has a claim, other frags."""

    racks: Mapping[int, str] = field(default_factory=dict)
    holders: Mapping[int, str] = field(default_factory=dict)
    frags: Mapping[int, str] = field(default_factory=dict)


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
        if body.get("whole"):
            return "A whole colony, offered as one piece"
        where = f" into {place(body, names)}" if body.get("rack") else ""
        note = f"; {body['note']}" if body.get("note") else ""
        return f"{word}: {pieces(body)}{where}{note}"

    return tell


def tell_inspected(body: Body, names: Names) -> str:
    """Tell a look at it."""
    if body.get("was") == Stage.READY:
        return "Not ready after all, growing"
    if body.get("later"):
        return "Looked at, not ready yet"
    if body.get("wrong"):
        return f"Not well: {TROUBLES.get(body['wrong'], body['wrong'])}{because(body, 'note')}"
    if body.get("stage") == Stage.GROWING:
        return "Healed, growing"
    return "Looked at, clean" if body.get("clean") else f"Looked at, fine{because(body, 'note')}"


def tell_split(body: Body, names: Names) -> str:
    """Tell that it was parted, or came from another."""
    if "from" in body:
        return f"Taken from {names.frags.get(body['from'], 'another frag')}: {pieces(body)}"
    into = body.get("into", ())
    parts = ", ".join(names.frags.get(one, "a frag") for one in into[:FEW])
    if len(into) > FEW:
        parts = f"{parts} and {len(into) - FEW} more"
    return f"Cut again into {parts}" if not body["pieces"] else f"Parted: {pieces(body)} to {parts}"


def tell_joined(body: Body, names: Names) -> str:
    """Tell that it grew together with another."""
    other = names.frags.get(body.get("into") or body.get("with") or 0, "another frag")
    if "into" in body:
        return f"Grown together with {other}, goes on under its code"
    return f"Took in {other}: {pieces(body)}" if body["pieces"] else f"Grown together with {other}"


def tell_dipped(body: Body, names: Names) -> str:
    """Tell a dip, and when the next is due."""
    again = f", again on {body['again']}" if body.get("again") else ""
    return f"Dipped: {body['dip']}{again}"


def tell_placed(body: Body, names: Names) -> str:
    """Tell where it was put, or that it made room for another."""
    if body.get("rack") is None:
        return "Place not known"
    return f"{'Hole not known, ' if body.get('unseen') else 'Placed in '}{place(body, names)}"


def tell_given(body: Body, names: Names) -> str:
    """Tell what was given away, for what and to whom."""
    why = str(GIFTS.get(body["why"], body["why"])).lower()
    whom = f" to {body['to']}" if body.get("to") else ""
    paper = f", {body['paper']}" if body.get("paper") else ""
    return f"Given{whom}: {pieces(body)}, {why}{paper}"


def tell_graded(body: Body, names: Names) -> str:
    """Tell a grading."""
    count = body.get("heads")
    heads = f", {count} {'head' if count == 1 else 'heads'}" if count else ""
    how = "To be sold as a fresh cut" if body.get("fresh") else "Graded ready"
    return f"{how}, size {SIZES.get(body['size'], body['size'])}{heads}"


def tell_let_go(body: Body, names: Names) -> str:
    """Tell the end of a hold, or that it lost pieces that died."""
    if body.get("how") == DIED:
        return f"Died while {holder(body, names)} had it put aside: {pieces(body)}"
    how = "ran out" if body.get("how") == "ran out" else "was let go"
    return f"The hold of {holder(body, names)} {how}: {pieces(body)}"


def tell_returned(body: Body, names: Names) -> str:
    """Tell what came back."""
    return f"Came back {'alive' if body['alive'] else 'dead'}: {pieces(body)}"


def tell_lost(body: Body, names: Names) -> str:
    """Tell a loss."""
    cause = CAUSES.get(body["cause"], body["cause"])
    return f"Lost: {pieces(body)}, {cause}{because(body, 'note')}"


def tell_sized(body: Body, names: Names) -> str:
    """Tell a size that was measured from a photo."""
    area, across, heads = (body.get(name) for name in ("area_mm2", "diameter_mm", "heads"))
    told = [f"{across:.0f} mm across"] if across else []
    told += [f"{area / 100:.2f} cm² projected"] if area else []
    told += [f"{heads} {'head' if heads == 1 else 'heads'}"] if heads else []
    return f"Measured: {', '.join(told)}"


TELLERS: Final[Mapping[Kind, Callable[[Body, Names], str]]] = {
    Kind.CUT: tell_begun("Cut"),
    Kind.RECEIVED: tell_begun("Came in"),
    Kind.SPLIT: tell_split,
    Kind.JOINED: tell_joined,
    Kind.REMOUNTED: lambda body, names: f"Mounted anew, on a {MEDIUMS[body['medium']].lower()}",
    Kind.RELABELLED: lambda body, names: f"New label, {body['from']} before",
    Kind.DIPPED: tell_dipped,
    Kind.PLACED: tell_placed,
    Kind.INSPECTED: tell_inspected,
    Kind.PHOTOGRAPHED: lambda body, names: (
        "A photo was taken out: it shows something else" if body.get("out") else "Photographed"
    ),
    Kind.SIZED: tell_sized,
    Kind.GRADED: tell_graded,
    Kind.SET_APART: lambda body, names: f"Set apart{because(body, 'reason')}",
    Kind.QUARANTINED: lambda body, names: f"Taken to quarantine{because(body, 'reason')}",
    Kind.RELEASED: lambda body, names: f"Released{because(body, 'despite')}",
    Kind.KEPT_BACK: lambda body, names: "Kept back" if body["kept"] else "No longer kept back",
    Kind.HELD: lambda body, names: f"Put aside for {holder(body, names)}: {pieces(body)}",
    Kind.LET_GO: tell_let_go,
    Kind.SOLD: lambda body, names: f"Sold to {holder(body, names)}: {pieces(body)}",
    Kind.RETURNED: tell_returned,
    Kind.LOST: tell_lost,
    Kind.UNDONE: lambda body, names: f"The loss was a mistake: {pieces(body)} back",
    Kind.FOUND: lambda body, names: f"Found again: {pieces(body)}{because(body, 'note')}",
    Kind.GIVEN: tell_given,
    Kind.KEPT: lambda body, names: "Kept as a colony",
}
