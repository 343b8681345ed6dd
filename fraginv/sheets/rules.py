"""What stands on an availability sheet: like with like, in the order of a shelf."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from typing import Any, Final

from fraginv.labels.rules.fitting import Measure, fit_lines
from fraginv.stock.rules.stages import SIZES
from fraginv.taxa.rules import GROUP_NAMES, GROUPS, fold_name
from fraginv.trade.rules.words import Unit

# What a reader is to know of a variety: what the law says, and what to beware of.
LAWS: Final = {"cites": "CITES Appendix II"}
DANGERS: Final = {"palytoxin": "May carry palytoxin: gloves, eye protection"}

# The paper's measures, as paper_sheet.html has them: type in points, heights in tenths of a mm.
NAME_PT, FACT_PT, DANGER_PT = 11.0, 8.5, 7.5
NAME, FACT, DANGER, DANGER_GAP = 47, 39, 35, 6
PICTURE, LINE, TITLE = 210, 56, 120
WORDS_MM: Final = 58.0
BOLD, PLAIN = 600, 400
MM_PER_POINT: Final = 25.4 / 72
MOST_LINES: Final = 5

GOOD_FOR: Final = timedelta(days=7)
SIZE_ORDER: Final = (*SIZES, "")


@dataclass(frozen=True, slots=True)
class SheetLine:
    """What can be had at one price, in minor units per ``unit``.

    ``heads`` is given where the price is by the head; ``code`` where the frag
    has a price of its own and is sold as it looks, which then stands alone.
    ``cautions`` are keys of ``fraginv.base.rules.cautions``; ``fresh`` has not healed
    or grown out yet.
    """

    variety: int
    name: str
    latin: str
    group: str
    size: str
    pieces: int
    price: int
    unit: Unit
    heads: int | None = None
    code: str = ""
    cautions: tuple[str, ...] = ()
    frags: tuple[int, ...] = ()
    fresh: bool = False

    @property
    def piece_price(self) -> int:
        """Return what one piece costs in minor units."""
        return self.price if self.heads is None else self.price * self.heads

    @property
    def size_name(self) -> str:
        """Return the size in words, nothing where it was not graded, and that it is fresh."""
        told = (SIZES.get(self.size, self.size), "fresh cut" if self.fresh else "")
        return ", ".join(part for part in told if part)

    @property
    def laws(self) -> list[str]:
        """Return what the law says of the variety, in few words."""
        return [text for key, text in LAWS.items() if key in self.cautions]

    @property
    def dangers(self) -> list[str]:
        """Return what to beware of with the variety, in few words."""
        return [text for key, text in DANGERS.items() if key in self.cautions]


@dataclass(frozen=True, slots=True)
class Missing:
    """Pieces that are for sale and on no sheet, because no price can be found for them."""

    name: str
    size: str
    pieces: int
    why: str


@dataclass(frozen=True, slots=True)
class Shelf:
    """One group of the trade: varieties with their lines, then the pieces sold as pictured."""

    group: str
    varieties: tuple[tuple[SheetLine, ...], ...]
    pictured: tuple[SheetLine, ...]

    @property
    def title(self) -> str:
        """Return the group's name in words."""
        return GROUP_NAMES[self.group]


def good_until(day: date) -> date:
    """Return the last day on which a sheet of a day is good: a week later."""
    return day + GOOD_FOR


def likeness(line: SheetLine) -> tuple[Any, ...]:
    """Return what two frags must have in common to share a line."""
    return (line.variety, line.size, line.unit, line.price, line.heads, line.code, line.fresh)


def shelf_order(line: SheetLine) -> tuple[Any, ...]:
    """Return where a line stands: group, variety, size; what is sold as pictured comes last."""
    return (
        GROUPS.index(line.group),
        fold_name(line.name),
        line.variety,
        bool(line.code),
        SIZE_ORDER.index(line.size),
        line.fresh,
        line.heads or 0,
        line.price,
        line.code,
    )


def sheet_lines(frags: Iterable[SheetLine]) -> list[SheetLine]:
    """Put like frags together and the lines in order.

    Args: one line for each frag, with its own pieces.
    """
    together: dict[tuple[Any, ...], SheetLine] = {}
    for line in frags:
        key = likeness(line)
        held = together.get(key)
        together[key] = (
            line
            if held is None
            else replace(held, pieces=held.pieces + line.pieces, frags=(*held.frags, *line.frags))
        )
    return sorted(together.values(), key=shelf_order)


def missing_prices(frags: Iterable[Missing]) -> list[Missing]:
    """Put together what lacks the same price, by variety and size."""
    together: dict[tuple[str, str, str], int] = {}
    for one in frags:
        key = (one.name, one.size, one.why)
        together[key] = together.get(key, 0) + one.pieces
    found = [Missing(name, size, pieces, why) for (name, size, why), pieces in together.items()]
    return sorted(found, key=lambda one: (fold_name(one.name), SIZE_ORDER.index(one.size), one.why))


def shelves(lines: Sequence[SheetLine]) -> list[Shelf]:
    """Arrange lines that are in order by group and variety."""
    found = []
    for group, of_group in groupby(lines, key=lambda line: line.group):
        rows = list(of_group)
        plain = [line for line in rows if not line.code]
        found.append(
            Shelf(
                group=group,
                varieties=tuple(
                    tuple(of_variety)
                    for _, of_variety in groupby(plain, key=lambda line: line.variety)
                ),
                pictured=tuple(line for line in rows if line.code),
            )
        )
    return found


@dataclass(frozen=True, slots=True)
class Words:
    """What is said beside a variety's picture, broken into lines, and how high that stands.

    Heights are whole tenths of a millimetre.
    """

    name: str
    facts: str
    dangers: str
    high: int

    def row_high(self, lines: int, *, titled: bool) -> int:
        """Return how high a row must be for picture, words and lines, and a title above."""
        return max(PICTURE, self.high, lines * LINE) + (TITLE if titled else 0)


def words_of(line: SheetLine, *, measure: Measure) -> Words:
    """Break what is said of a variety into lines that fit beside its picture.

    Each line's place is known before anything is laid out, so that the prices can
    stand beside the words without a float or a cell, which cost a paper most.
    """

    def broken(texts: Iterable[str], *, points: float, weight: int) -> list[str]:
        room = WORDS_MM / MM_PER_POINT / points
        fitted = (
            fit_lines(text, room=room, weight=weight, measure=measure, most=MOST_LINES)
            for text in texts
        )
        return [each for lines in fitted for each in lines]

    name = broken([line.name], points=NAME_PT, weight=BOLD)
    facts = broken([" · ".join([line.latin, *line.laws])], points=FACT_PT, weight=PLAIN)
    if len(facts) > 1:  # no law is torn apart
        facts = broken([line.latin, *line.laws], points=FACT_PT, weight=PLAIN)
    dangers = broken(line.dangers, points=DANGER_PT, weight=PLAIN)
    high = len(name) * NAME + len(facts) * FACT
    if dangers:
        high += DANGER_GAP + len(dangers) * DANGER
    return Words("\n".join(name), "\n".join(facts), "\n".join(dangers), high)


def line_document(line: SheetLine) -> dict[str, object]:
    """Return a line as a JSON document says it; amounts in minor units."""
    return {
        "variety": line.name,
        "latin": line.latin,
        "group": line.group,
        "size": line.size,
        "heads": line.heads,
        "code": line.code or None,
        "pieces": line.pieces,
        "unit": line.unit.value,
        "price": line.price,
        "cautions": list(line.cautions),
    }
