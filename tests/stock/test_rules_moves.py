"""What a move came to, in words; and which stop-sales are left behind."""

import pytest

from fraginv.stock.rules.moves import Moved, say_moved, together
from fraginv.stock.rules.stops import Water, WaterStop, say_left

ONE, TWO = "7K3Q9FN", "7K3Q9FX"
HERE, BESIDE, FAR = Water(1, 10), Water(2, 10), Water(3, 11)
TROUGH, SYSTEM = WaterStop(1, "flatworms", trough=1), WaterStop(2, "a treatment", system=10)


@pytest.mark.parametrize(
    ("moved", "said"),
    [
        (Moved(1), ""),
        (Moved(1, 1, made_room=ONE), "7K3-Q9F-N stood there: its hole is not known now."),
        (Moved(1, 1, ONE, swapped=True), "7K3-Q9F-N stood there: they changed places."),
        (Moved(3, apart=1), "1 was set apart: it comes out of water under a stop-sale."),
        (Moved(3, apart=2), "2 were set apart: they come out of water under a stop-sale."),
        (Moved(1, no_hole=(ONE,)), "Its hole is not known now: 7K3-Q9F-N."),
        (
            Moved(3, no_hole=(ONE,), no_place=(ONE, TWO), apart=1),
            "Its hole is not known now: 7K3-Q9F-N. "
            "Their places are not known now: 7K3-Q9F-N, 7K3-Q9F-X. "
            "1 was set apart: it comes out of water under a stop-sale.",
        ),
    ],
)
def test_a_move_in_words(moved: Moved, said: str) -> None:
    assert say_moved(moved) == said


def test_several_moves_are_one() -> None:
    moves = [Moved(1, apart=1, no_hole=(ONE,)), Moved(2, 1, no_place=(TWO,)), Moved(1, apart=1)]
    assert together(moves) == Moved(4, 1, apart=2, no_hole=(ONE,), no_place=(TWO,))
    assert together([]) == Moved(0)


@pytest.mark.parametrize(
    ("stops", "left", "now", "reasons"),
    [
        ([TROUGH], HERE, HERE, ""),
        ([TROUGH], HERE, BESIDE, "flatworms"),
        ([SYSTEM], HERE, BESIDE, ""),
        ([SYSTEM], HERE, FAR, "a treatment"),
        ([TROUGH, SYSTEM], HERE, BESIDE, "flatworms"),
        ([TROUGH, SYSTEM, TROUGH], HERE, FAR, "flatworms, a treatment"),
        ([TROUGH, SYSTEM], HERE, Water(), "flatworms, a treatment"),
        ([TROUGH, SYSTEM], FAR, HERE, ""),
        ([WaterStop(3, "a colony's")], Water(), HERE, ""),
        ([WaterStop(4, "a colony's")], HERE, Water(), ""),
    ],
)
def test_stops_left_behind(stops: list[WaterStop], left: Water, now: Water, reasons: str) -> None:
    said = f"came out of stopped water: {reasons}" if reasons else ""
    assert say_left(stops, left=left, now=now) == said
