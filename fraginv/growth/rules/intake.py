"""What becomes of pictures that come in, by the labels that were read in them."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import dist
from typing import Final

from fraginv.base.rules.codes import show_code
from fraginv.growth.rules import strays
from fraginv.growth.rules.problems import Problem

LONGEST_SAID: Final = 400
LONGEST_NAME: Final = 120

Corners = tuple[tuple[float, float], ...]


class State(StrEnum):
    """Where a picture that came in stands; ``TRAY`` waits for a person to file it."""

    WAITING = "waiting"
    FILED = "filed"
    TRAY = "tray"
    REFUSED = "refused"
    DISCARDED = "discarded"


@dataclass(frozen=True)
class Seen:
    """A label of ours in a picture: its code, and its symbol's corners in upright pixels.

    ``times`` is at how many places the same code stands.
    """

    code: str
    corners: Corners
    times: int = 1

    @property
    def centre(self) -> tuple[float, float]:
        """Return the middle of the symbol."""
        xs, ys = zip(*self.corners, strict=True)
        return sum(xs) / len(xs), sum(ys) / len(ys)

    @property
    def side(self) -> float:
        """Return the mean length of the symbol's sides, in pixels."""
        ends = [*self.corners[1:], self.corners[0]]
        return sum(map(dist, self.corners, ends)) / len(ends)

    def as_dict(self) -> dict[str, object]:
        """Return code and corners, for JSON."""
        corners = [[round(x, 2), round(y, 2)] for x, y in self.corners]
        more = {"times": self.times} if self.times > 1 else {}
        return {"code": self.code, "corners": corners, **more}


@dataclass(frozen=True)
class Read:
    """What was read in a picture: our labels, and how many codes are of other systems.

    ``unread`` counts what looks like a label and could not be read.
    """

    labels: tuple[Seen, ...] = ()
    foreign: int = 0
    unread: int = 0


@dataclass(frozen=True)
class Named:
    """What carries a code: a frag, a colony or a rack by its id; another ``kind`` is none of them.

    ``rack`` is in which one it stands, ``stage`` that of a frag which ended.
    """

    code: str
    kind: str = ""
    pk: int = 0
    rack: int | None = None
    stage: str = ""

    @property
    def is_thing(self) -> bool:
        """Tell whether it is something that is photographed."""
        return self.kind in {"frag", "colony", "rack"}


@dataclass(frozen=True)
class Plan:
    """What is done with a picture: filed under one thing or a rack, or laid into the tray.

    ``parts`` are the frags whose part is cut out of a rack's photo; ``notes`` sentences
    for whoever sent it.
    """

    subject: Named | None = None
    parts: tuple[Named, ...] = ()
    problem: Problem | None = None
    notes: tuple[str, ...] = ()


def plan_for(read: Read, *, known: Mapping[str, Named], rack: int | None) -> Plan:
    """Decide what a picture is filed under; where that is not plain, a person decides.

    Args: ``known`` what carries each code; ``rack`` where somebody said that it was taken.
    """
    codes = list(dict.fromkeys(label.code for label in read.labels))
    named = [known.get(code, Named(code)) for code in codes]
    things, others = [one for one in named if one.is_thing], [n for n in named if not n.is_thing]
    if not codes:
        return Plan(problem=strays.FOREIGN if read.foreign else strays.NO_LABEL)
    if not things:
        return Plan(problem=strays.not_ours([(one.code, one.kind) for one in others]))
    frags, colonies = distinct(things, "frag"), distinct(things, "colony")
    racks = distinct(things, "rack")
    twice = doubled(read.labels)
    alone = [*frags, *colonies]
    if len(alone) == 1 and (not racks or colonies):
        return plan_for_one(alone[0], others=others, twice=twice, unread=read.unread)
    plan = plan_for_many(frags, colonies, racks, others=others, twice=twice, rack=rack)
    return replace(plan, notes=(*plan.notes, *strays.unread(read.unread)))


def distinct(named: Iterable[Named], kind: str) -> list[Named]:
    """Return the things of one kind, each once, however many of its labels were read."""
    return list({one.pk: one for one in named if one.kind == kind}.values())


def plan_for_one(one: Named, *, others: Sequence[Named], twice: set[str], unread: int) -> Plan:
    """Decide for a picture in which one thing of ours is named."""
    if others:
        return Plan(problem=strays.beside(one.code, [other.code for other in others]))
    if one.code in twice:
        return Plan(problem=strays.twice(one.code))
    if unread:
        return Plan(problem=strays.beside_unread(one.code))
    return Plan(subject=one, notes=notes_of([one]))


def plan_for_many(
    frags: list[Named],
    colonies: list[Named],
    racks: list[Named],
    *,
    others: Sequence[Named],
    twice: set[str],
    rack: int | None,
) -> Plan:
    """Decide for a picture in which a rack or several things of ours are named."""
    codes = [one.code for one in (*frags, *colonies)]
    if len(racks) > 1:
        return Plan(problem=strays.two_racks([one.code for one in racks]))
    place = racks[0].pk if racks else rack_of_most(frags) or rack
    if place is None:
        return Plan(problem=strays.several(codes))
    if any(colony.rack != place for colony in colonies):
        return Plan(problem=strays.colony_among(codes))
    parts = tuple(frag for frag in frags if frag.code not in twice)
    notes = [
        *notes_of(frags),
        *strays.elsewhere([one.code for one in frags if one.rack not in {place, None}]),
        *strays.not_cut(sorted({one.code for one in frags} & twice)),
        *strays.ignored([one.code for one in others]),
    ]
    return Plan(Named("", "rack", place), parts, notes=tuple(notes))


def rack_of_most(frags: Sequence[Named]) -> int | None:
    """Return the rack in which more than half of some frags stand, or None."""
    stand = Counter(frag.rack for frag in frags if frag.rack is not None)
    for rack, count in stand.most_common(1):
        if 2 * count > len(frags):
            return rack
    return None


def doubled(labels: Iterable[Seen]) -> set[str]:
    """Return the codes that stand at more than one place of a picture."""
    return {label.code for label in labels if label.times > 1}


def notes_of(things: Iterable[Named]) -> tuple[str, ...]:
    """Say which of some frags are not here any more."""
    return tuple(
        f"{show_code(one.code)} is {one.stage} already; its photo is kept all the same."
        for one in things
        if one.stage
    )


def said_in_short(sentences: Iterable[str]) -> str:
    """Return sentences as one text, no longer than is kept."""
    text = " ".join(sentences)
    return text if len(text) <= LONGEST_SAID else f"{text[: LONGEST_SAID - 1]}…"


def name_kept(name: str) -> str:
    """Return a file's name as text that can be kept, whatever bytes a disk gave it."""
    return name.encode(errors="replace").decode()[-LONGEST_NAME:] or "picture"
