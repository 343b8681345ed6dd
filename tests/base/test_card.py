"""The measuring card: its patterns are told apart, and everything has room."""

from itertools import combinations
from random import Random

import pytest

from fraginv.base.rules.card import (
    BAR,
    CARD_HEIGHT_MM,
    CARD_WIDTH_MM,
    CELLS,
    LABEL_PLACE,
    LEAST_DIFFERENCE,
    MARKERS,
    PAPERS,
    PATTERN_BITS,
    PATTERNS,
    QUIET_MM,
    WINDOW,
    Box,
)

SEED = 5
CARD = Box(0, 0, CARD_WIDTH_MM, CARD_HEIGHT_MM)
Bits = tuple[str, ...]


def turned(bits: Bits) -> Bits:
    """Turn a pattern by a quarter."""
    return tuple("".join(column) for column in zip(*bits[::-1], strict=True))


def turns(bits: Bits) -> list[Bits]:
    """List a pattern as it is and turned by one, two and three quarters."""
    found = [bits]
    for _ in range(3):
        found.append(turned(found[-1]))
    return found


def negative(bits: Bits) -> Bits:
    """Exchange white and dark."""
    return tuple(row.translate(str.maketrans("#.", ".#")) for row in bits)


def differing(one: Bits, other: Bits) -> int:
    """Count the bits that differ."""
    return sum(a != b for a, b in zip("".join(one), "".join(other), strict=True))


def apart(one: Bits, others: list[Bits]) -> bool:
    """Tell whether a pattern is far enough from each of several."""
    return all(differing(one, other) >= LEAST_DIFFERENCE for other in others)


def fits(bits: Bits, known: list[Bits]) -> bool:
    """Tell whether a pattern may join those that are known."""
    dark = "".join(bits).count("#")
    return (
        16 <= dark <= 20
        and apart(bits, turns(bits)[1:])
        and apart(bits, turns(negative(bits)))
        and all(apart(bits, turns(other) + turns(negative(other))) for other in known)
    )


def drawn(count: int) -> list[Bits]:
    """Draw patterns at random and keep those that fit."""
    chance, found = Random(SEED), list[Bits]()
    while len(found) < count:
        draw = ["#" if chance.getrandbits(1) else "." for _ in range(PATTERN_BITS**2)]
        rows = [draw[row * PATTERN_BITS :][:PATTERN_BITS] for row in range(PATTERN_BITS)]
        bits = tuple("".join(row) for row in rows)
        if fits(bits, found):
            found.append(bits)
    return found


def test_the_patterns_are_those_that_the_seed_draws() -> None:
    assert drawn(len(PATTERNS)) == list(PATTERNS)


def test_every_two_patterns_differ_however_they_are_turned() -> None:
    for one, other in combinations(PATTERNS, 2):
        assert apart(one, turns(other))
        assert apart(one, turns(negative(other)))


def test_a_marker_has_a_dark_border_around_its_bits() -> None:
    for marker in MARKERS:
        cells = marker.cells
        assert [len(row) for row in cells] == [CELLS] * CELLS
        assert all(cells[0] + cells[-1])
        assert all(row[0] and row[-1] for row in cells)
        inner = tuple("".join(".#"[dark] for dark in row[1:-1]) for row in cells[1:-1])
        assert inner == marker.bits


def overlap(one: Box, other: Box) -> bool:
    """Tell whether two boxes have a part in common."""
    return (
        one.left_mm < other.right_mm
        and other.left_mm < one.right_mm
        and one.top_mm < other.bottom_mm
        and other.top_mm < one.bottom_mm
    )


def wider(box: Box, by_mm: float) -> Box:
    """Return a box with a margin around it."""
    return Box(
        box.left_mm - by_mm,
        box.top_mm - by_mm,
        box.width_mm + 2 * by_mm,
        box.height_mm + 2 * by_mm,
    )


def inside(inner: Box, outer: Box) -> bool:
    """Tell whether a box lies in another."""
    return (
        inner.left_mm >= outer.left_mm
        and inner.top_mm >= outer.top_mm
        and inner.right_mm <= outer.right_mm
        and inner.bottom_mm <= outer.bottom_mm
    )


def test_each_marker_has_its_quiet_margin() -> None:
    others = [WINDOW, LABEL_PLACE, BAR]
    for marker in MARKERS:
        room = wider(marker.place, QUIET_MM)
        rest = [other.place for other in MARKERS if other is not marker]
        # The window and the place for a label are white themselves, so they may come closer.
        assert not any(overlap(room, other) for other in [*rest, BAR])
        assert not any(overlap(marker.place, other) for other in others)
        assert inside(room, CARD)


def test_window_label_and_bar_do_not_meet() -> None:
    assert not overlap(WINDOW, LABEL_PLACE)
    assert not overlap(WINDOW, BAR)
    assert not overlap(LABEL_PLACE, BAR)
    assert BAR.width_mm == 100
    assert (WINDOW.width_mm, WINDOW.height_mm) == (50, 50)
    assert all(inside(box, CARD) for box in (WINDOW, LABEL_PLACE, BAR))


def test_the_markers_stand_around_window_and_label() -> None:
    left = min(marker.place.left_mm for marker in MARKERS)
    right = max(marker.place.right_mm for marker in MARKERS)
    top = min(marker.place.top_mm for marker in MARKERS)
    bottom = max(marker.place.bottom_mm for marker in MARKERS)
    hull = Box(left, top, right - left, bottom - top)
    assert inside(WINDOW, hull)
    assert inside(LABEL_PLACE, hull)


@pytest.mark.parametrize("name", list(PAPERS))
def test_the_card_fits_its_paper_with_room_for_the_printers_margin(name: str) -> None:
    paper = PAPERS[name]
    assert paper.name == name
    # Common practice, no source: no office printer leaves more than 8 mm white at an edge.
    page = Box(8, 8, paper.width_mm - 16, paper.height_mm - 16)
    assert inside(Box(paper.left_mm, paper.top_mm, CARD_WIDTH_MM, CARD_HEIGHT_MM), page)


def test_a_box_knows_its_middle_and_corners() -> None:
    box = Box(10, 20, 4, 6)
    assert box.centre == (12, 23)
    assert box.corners == ((10, 20), (14, 20), (14, 26), (10, 26))
