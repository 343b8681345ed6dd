"""What came of putting frags somewhere, beside that they are there."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from fraginv.base.rules.codes import show_code


@dataclass(frozen=True)
class Moved:
    """How many frags were put somewhere, and what became of them and of others.

    ``holes`` of them got one. ``made_room`` is the code of what stood in the hole before: it
    ``swapped`` places with the one that came, or its hole is not known now. So many are
    ``apart`` since, because they came out of water under a stop-sale. The codes of what
    should stand again where it stood are in ``no_hole`` or ``no_place`` where it cannot.
    """

    frags: int
    holes: int = 0
    made_room: str = ""
    swapped: bool = False
    apart: int = 0
    no_hole: tuple[str, ...] = field(default=())
    no_place: tuple[str, ...] = field(default=())


def together(moves: Iterable[Moved]) -> Moved:
    """Return several moves, none of which made another frag give way, as one."""
    all_moves = list(moves)
    return Moved(
        frags=sum(one.frags for one in all_moves),
        holes=sum(one.holes for one in all_moves),
        apart=sum(one.apart for one in all_moves),
        no_hole=tuple(code for one in all_moves for code in one.no_hole),
        no_place=tuple(code for one in all_moves for code in one.no_place),
    )


def say_moved(moved: Moved) -> str:
    """Say what else came of a move, in whole sentences; nothing where all went as it should."""
    told = [
        say_room(moved.made_room, swapped=moved.swapped),
        say_unknown(moved.no_hole, what="hole"),
        say_unknown(moved.no_place, what="place"),
        say_apart(moved.apart),
    ]
    return " ".join(filter(None, told))


def say_room(code: str, *, swapped: bool) -> str:
    """Say what became of the frag that stood in a hole before; nothing for no code."""
    if not code:
        return ""
    now = "they changed places" if swapped else "its hole is not known now"
    return f"{show_code(code)} stood there: {now}."


def say_unknown(codes: Iterable[str], *, what: str) -> str:
    """Say which frags do not stand again where they stood; ``what`` of theirs is not known."""
    told = [show_code(code) for code in codes]
    if not told:
        return ""
    whose = f"Its {what} is" if len(told) == 1 else f"Their {what}s are"
    return f"{whose} not known now: {', '.join(told)}."


def say_apart(frags: int) -> str:
    """Say how many frags were set apart because a stop-sale holds where they came from."""
    if not frags:
        return ""
    whose = "1 was set apart: it comes" if frags == 1 else f"{frags} were set apart: they come"
    return f"{whose} out of water under a stop-sale."
