"""What may be parted, cut again, grown together, counted or given."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from fraginv.base.errors import Conflict, InputError
from fraginv.stock.rules.happenings import FragState
from fraginv.stock.rules.stages import GIFTS, LIVING, Stage

MOST_PARTS: Final = 50
MOST_COUNTED: Final = 5_000
LATEST_DIP: Final = timedelta(days=365)


def part_of(state: FragState, *, parent: int, pieces: int) -> dict[str, Any]:
    """Return the first event's body of pieces that leave a lot: they stand as it stands.

    They have no hole of their own yet.
    """
    told = {
        "apart": state.apart,
        "quarantined": state.quarantined,
        "quarantined_on": state.quarantined_on and state.quarantined_on.isoformat(),
        "clean_checks": state.clean_checks,
        "checked_on": state.checked_on and state.checked_on.isoformat(),
        "kept": state.kept_back,
        "fresh": state.fresh,
        "wrong": state.wrong,
        "dip_due_on": state.dip_due_on and state.dip_due_on.isoformat(),
        "size": state.size,
        "heads": state.heads,
        "ready_on": state.ready_on and state.ready_on.isoformat(),
        "rack": state.rack,
    }
    told = {name: value for name, value in told.items() if value}
    return {"from": parent, "pieces": pieces, "stage": state.stage} | told


def cut_anew(body: dict[str, Any]) -> dict[str, Any]:
    """Return the body of a part that was cut off and heals anew."""
    lost = {"size", "heads", "fresh", "ready_on"}
    kept = {name: value for name, value in body.items() if name not in lost}
    return kept | {"stage": Stage.HEALING.value}


def check_split(pieces: int, *, of: int, code: str) -> None:
    """Refuse to take pieces out of what has not more of them.

    Raises: InputError.
    """
    if of == 1:
        raise InputError(f"{code} is one piece. To make several of it, cut it again.")
    if not 1 <= pieces < of:
        raise InputError(
            f"{code} has {of} living pieces; from 1 to {of - 1} can leave it. "
            "To give all of them another code, give it a new label."
        )


def check_recut(into: int, *, of: int, code: str) -> None:
    """Refuse to cut a lot again, or one piece into a number that cannot be.

    Raises: InputError.
    """
    if of != 1:
        raise InputError(f"{code} has {of} living pieces. Split off the one that is cut again.")
    if not 2 <= into <= MOST_PARTS:
        raise InputError(f"{into} pieces: one piece cut again makes from 2 to {MOST_PARTS}.")


@dataclass(frozen=True)
class Joining:
    """What decides whether one frag may become part of another.

    ``source`` is what it descends from, its colony and arrival; ``water`` the system in which
    it stands, where that is known.
    """

    code: str
    variety: int
    variety_name: str
    is_lot: bool
    state: FragState
    source: tuple[int | None, int | None]
    stopped: bool
    water: int | None


def check_join(one: Joining, other: Joining) -> None:
    """Refuse two frags that cannot be one.

    Raises: Conflict.
    """
    if one.variety != other.variety:
        raise Conflict(
            f"{one.code} is {one.variety_name}, {other.code} is {other.variety_name}. "
            "Only pieces of one variety can be one."
        )
    for each in (one, other):
        if each.state.stage not in LIVING:
            raise Conflict(f"{each.code} does not live here any more: it is {each.state.stage}.")
        if each.stopped:
            raise Conflict(f"A stop-sale holds for {each.code}. Keep it by itself until that ends.")
    if one.source != other.source:
        raise Conflict(
            f"{one.code} and {other.code} do not come from one colony, so one code could not "
            "tell where they are from. Keep them apart; what is overgrown is written off."
        )
    if (one.state.quarantined, one.state.apart) != (other.state.quarantined, other.state.apart):
        raise Conflict(
            f"One of {one.code} and {other.code} is set apart or in quarantine, the other is not. "
            "Make them alike first."
        )
    if one.state.quarantined and one.water != other.water:
        raise Conflict(f"{one.code} and {other.code} are not in one quarantine. Keep them apart.")
    if one.is_lot or other.is_lot:
        check_alike(one, other)


def joint_stay(one: FragState, other: FragState) -> dict[str, Any]:
    """Return what the one that goes on is told of its stay in quarantine: the harder of both."""
    if one.quarantined_on is None or other.quarantined_on is None:
        return {}
    checked = [state.checked_on for state in (one, other) if state.checked_on]
    return {
        "quarantined_on": max(one.quarantined_on, other.quarantined_on).isoformat(),
        "clean_checks": min(one.clean_checks, other.clean_checks),
        "checked_on": max(checked).isoformat() if checked else None,
    }


def check_alike(one: Joining, other: Joining) -> None:
    """Refuse pieces for one lot that are not alike.

    Raises: Conflict.
    """
    if not one.is_lot:
        raise Conflict(
            f"{other.code} is a lot and {one.code} is one piece. Open the lot and take it in there."
        )
    first, second = one.state, other.state
    if (first.stage, first.size, first.heads, first.fresh, first.kept_back) != (
        *(second.stage, second.size, second.heads, second.fresh, second.kept_back),
    ):
        raise Conflict(
            f"{one.code} is {say_standing(first)}, {other.code} is {say_standing(second)}. "
            "One lot holds alike pieces: grade them alike first."
        )


def say_standing(state: FragState) -> str:
    """Say in a few words how pieces stand."""
    told = [state.stage]
    if state.size:
        told.append(f"size {state.size}")
    if state.heads:
        told.append(f"{state.heads} heads")
    if state.fresh:
        told.append("a fresh cut")
    if state.kept_back:
        told.append("kept back")
    return ", ".join(told)


def check_counted(pieces: int) -> None:
    """Refuse a number that no lot has.

    Raises: InputError.
    """
    if not 0 <= pieces <= MOST_COUNTED:
        raise InputError(
            f"{pieces:,} pieces: write how many are there, from 0 to {MOST_COUNTED:,}."
        )


def check_gift(why: str, *, paper: str) -> None:
    """Refuse a reason to give that is none, and a gift with a sale that names no sale.

    Raises: InputError.
    """
    if why not in GIFTS:
        raise InputError("Choose from the list what it is given for; other is one of them.")
    if why == "sale" and not paper.strip():
        raise InputError("Write the number of the sale with which it is given.")


def check_next_dip(again: date | None, *, today: date) -> None:
    """Refuse a next dip that is past, or too far off.

    Raises: InputError.
    """
    if again is not None and not today < again <= today + LATEST_DIP:
        raise InputError(
            f"The next dip on {again.isoformat()}: choose a day after today, "
            f"within {LATEST_DIP.days} days."
        )
