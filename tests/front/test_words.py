"""Ages, availability and the log in words."""

from datetime import date, timedelta
from typing import Any

import pytest

from fraginv.front.rules.log import Names, describe
from fraginv.front.rules.words import age_words, availability, is_offered
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stages import Standing

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (-1, "0 days"),
        (0, "0 days"),
        (1, "1 day"),
        (13, "13 days"),
        (14, "2 weeks"),
        (69, "9 weeks"),
        (70, "2 months"),
        (365, "11 months"),
        (366, "12 months"),
        (729, "23 months"),
        (731, "2 years"),
        (1096, "3 years"),
    ],
)
def test_age_in_whole_units(days: int, told: str) -> None:
    assert age_words(TODAY - timedelta(days=days), today=TODAY) == told


@pytest.mark.parametrize(
    ("standing", "free", "told", "offered"),
    [
        (Standing("ready"), 1, "Available", True),
        (Standing("ready"), 0, "Put aside for somebody", True),
        (Standing("healing"), 1, "Still growing, not for sale yet", False),
        (Standing("growing"), 1, "Still growing, not for sale yet", False),
        (Standing("growing", apart=True), 1, "Not for sale", False),
        (Standing("ready", quarantined=True), 1, "Not for sale", False),
        (Standing("ready", kept_back=True), 1, "Not for sale", False),
        (Standing("ready", barred=True), 1, "Not for sale", False),
        (Standing("sold"), 0, "Sold", False),
        (Standing("lost"), 0, "No longer here", False),
        (Standing("given"), 0, "No longer here", False),
        (Standing("kept"), 0, "No longer here", False),
    ],
)
def test_what_a_visitor_reads_says_no_reason(
    standing: Standing, free: int, told: str, *, offered: bool
) -> None:
    assert availability(standing, free=free) == told
    assert is_offered(standing) is offered


NAMES = Names(racks={7: "A, rack 1"}, holders={3: "Ines Varga"}, frags={5: "5YY-YYY-Y"})
LINES: list[tuple[Kind, dict[str, Any], str]] = [
    (Kind.CUT, {"pieces": 12}, "Cut: 12 pieces"),
    (Kind.CUT, {"pieces": 1, "rack": 7}, "Cut: 1 piece into A, rack 1"),
    (Kind.RECEIVED, {"pieces": 4}, "Came in: 4 pieces"),
    (Kind.PLACED, {"rack": 7, "row": 2, "column": 3}, "Placed in A, rack 1, row 2, hole 3"),
    (Kind.PLACED, {"rack": 8, "row": None, "column": None}, "Placed in a rack"),
    (Kind.INSPECTED, {"stage": "growing"}, "Healed, growing"),
    (Kind.INSPECTED, {}, "Looked at, fine"),
    (Kind.INSPECTED, {"wrong": "", "clean": True}, "Looked at, clean"),
    (Kind.INSPECTED, {"wrong": "algae", "note": "rim"}, "Not well: Algae: rim"),
    (Kind.SPLIT, {"pieces": 0, "into": [5, 6]}, "Cut again into 5YY-YYY-Y, a frag"),
    (Kind.SPLIT, {"pieces": 1, "into": [5]}, "Parted: 1 piece to 5YY-YYY-Y"),
    (Kind.SPLIT, {"pieces": 2, "from": 5}, "Taken from 5YY-YYY-Y: 2 pieces"),
    (Kind.JOINED, {"pieces": 0, "with": 5}, "Grown together with 5YY-YYY-Y"),
    (Kind.JOINED, {"pieces": 4, "with": 5}, "Took in 5YY-YYY-Y: 4 pieces"),
    (
        Kind.JOINED,
        {"pieces": 1, "into": 5},
        "Grown together with 5YY-YYY-Y, goes on under its code",
    ),
    (Kind.REMOUNTED, {"medium": "tile"}, "Mounted anew, on a tile"),
    (Kind.RELABELLED, {"from": "7K3-Q9F-2"}, "New label, 7K3-Q9F-2 before"),
    (Kind.DIPPED, {"dip": "iodine"}, "Dipped: iodine"),
    (Kind.DIPPED, {"dip": "iodine", "again": "2026-12-02"}, "Dipped: iodine, again on 2026-12-02"),
    (Kind.PLACED, {"rack": None}, "Place not known"),
    (Kind.PLACED, {"rack": 7, "unseen": True}, "Hole not known, A, rack 1"),
    (Kind.INSPECTED, {"later": True}, "Looked at, not ready yet"),
    (Kind.GRADED, {"size": "S", "fresh": True}, "To be sold as a fresh cut, size S"),
    (Kind.UNDONE, {"pieces": 1, "undoes": 4}, "The loss was a mistake: 1 piece back"),
    (Kind.FOUND, {"pieces": 1, "note": "under rack 2"}, "Found again: 1 piece: under rack 2"),
    (
        Kind.GIVEN,
        {"pieces": 2, "why": "school", "to": "Lantern School"},
        "Given to Lantern School: 2 pieces, school",
    ),
    (Kind.GIVEN, {"pieces": 1, "why": "raffle"}, "Given: 1 piece, raffle"),
    (Kind.KEPT, {"pieces": 1, "colony": 2}, "Kept as a colony"),
    (Kind.PHOTOGRAPHED, {"photo": 1}, "Photographed"),
    (
        Kind.PHOTOGRAPHED,
        {"photo": 1, "out": True, "unseen": True},
        "A photo was taken out: it shows something else",
    ),
    (
        Kind.SIZED,
        {"measurement": 1, "area_mm2": 490.87, "diameter_mm": 25.0, "heads": 1},
        "Measured: 25 mm across, 4.91 cm² projected, 1 head",
    ),
    (Kind.SIZED, {"measurement": 1, "heads": 3}, "Measured: 3 heads"),
    (Kind.GRADED, {"size": "mini", "heads": 9}, "Graded ready, size Mini-colony, 9 heads"),
    (Kind.GRADED, {"size": "M"}, "Graded ready, size M"),
    (Kind.SET_APART, {"reason": "spots"}, "Set apart: spots"),
    (Kind.SET_APART, {"reason": ""}, "Set apart"),
    (Kind.QUARANTINED, {"reason": "new"}, "Taken to quarantine: new"),
    (Kind.RELEASED, {}, "Released"),
    (Kind.KEPT_BACK, {"kept": True}, "Kept back"),
    (Kind.KEPT_BACK, {"kept": False}, "No longer kept back"),
    (Kind.HELD, {"claim": 3, "pieces": 5}, "Put aside for Ines Varga: 5 pieces"),
    (Kind.HELD, {"claim": 4, "pieces": 1}, "Put aside for somebody: 1 piece"),
    (
        Kind.LET_GO,
        {"claim": 3, "pieces": 5, "how": "ran out"},
        "The hold of Ines Varga ran out: 5 pieces",
    ),
    (
        Kind.LET_GO,
        {"claim": 3, "pieces": 5, "how": "let go"},
        "The hold of Ines Varga was let go: 5 pieces",
    ),
    (Kind.SOLD, {"claim": 3, "pieces": 2}, "Sold to Ines Varga: 2 pieces"),
    (Kind.RETURNED, {"pieces": 1, "alive": False}, "Came back dead: 1 piece"),
    (Kind.RETURNED, {"pieces": 2, "alive": True}, "Came back alive: 2 pieces"),
    (
        Kind.LOST,
        {"pieces": 2, "cause": "rtn", "note": "overnight"},
        "Lost: 2 pieces, RTN or STN (tissue necrosis): overnight",
    ),
]


@pytest.mark.parametrize(("kind", "body", "told"), LINES, ids=[line[2] for line in LINES])
def test_log_in_words(kind: Kind, body: dict[str, Any], told: str) -> None:
    assert describe(kind.value, body, names=NAMES) == told


def test_every_kind_has_words() -> None:
    assert {kind for kind, _, _ in LINES} == set(Kind)
