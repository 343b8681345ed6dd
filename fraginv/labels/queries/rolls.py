"""Rolls of blank labels that were printed ahead: what is left of each."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Q

from fraginv.base.errors import NotFound
from fraginv.base.models import Code
from fraginv.labels.models import PrintedLabel, PrintRun, RetiredRoll
from fraginv.labels.rules.rolls import Stretch, stretches

ROLLS_ON_A_PAGE = 20
BLANK = Q(kind=Code.Kind.BLANK.value, run__isnull=False)


@dataclass(frozen=True)
class Roll:
    """What is left of one roll, and when it was printed first; ``stretches`` in its order."""

    number: int
    left: int
    stretches: Sequence[Stretch]
    printed: PrintRun | None

    @property
    def next_free(self) -> Stretch:
        """Return the longest row of blank labels, the last one of equals: where to go on."""
        return max(reversed(self.stretches), key=lambda stretch: stretch.length)


@dataclass(frozen=True)
class RollPage:
    """A page of the rolls that have blank labels left; ``after`` leads to the next one."""

    rows: Sequence[Roll]
    after: int | None
    is_first: bool


def roll_list(*, after: int | None = None, size: int = ROLLS_ON_A_PAGE) -> RollPage:
    """Return a page of the rolls that have blank labels left, the latest first.

    Queries: 3.
    """
    counted = Code.objects.filter(BLANK).values("run").annotate(left=Count("pk"))
    if after is not None:
        counted = counted.filter(run__lt=after)
    found = list(counted.order_by("-run")[: size + 1])
    numbers = [one["run"] for one in found[:size] if one["run"] is not None]
    return RollPage(
        rolls_numbered(numbers), numbers[-1] if len(found) > size else None, after is None
    )


def rolls_numbered(numbers: Sequence[int]) -> list[Roll]:
    """Return what is left of these rolls.

    Queries: 2.
    """
    places: dict[int, list[tuple[int, str]]] = defaultdict(list)
    blank = Code.objects.filter(BLANK, run__in=numbers).order_by("run", "position")
    for number, position, code in blank.values_list("run", "position", "pk"):
        if number is not None and position is not None:
            places[number].append((position, code))
    printed = first_printed([places[number][0][1] for number in numbers if places[number]])
    return [
        Roll(
            number=number,
            left=len(places[number]),
            stretches=stretches(places[number]),
            printed=printed.get(places[number][0][1]),
        )
        for number in numbers
        if places[number]
    ]


def first_printed(codes: Sequence[str]) -> dict[str, PrintRun]:
    """Return by code in which print run it was printed first.

    Queries: 1.
    """
    labels = PrintedLabel.objects.filter(code__in=codes).select_related("run__by")
    return {label.code_id: label.run for label in labels.order_by("-run")}


def get_roll(number: int) -> Roll:
    """Return what is left of one roll.

    Raises: NotFound when nothing is.
    Queries: 2, and 1 more where nothing is left.
    """
    found = rolls_numbered([number])
    if not found:
        gone = RetiredRoll.objects.filter(number=number).exists()
        why = "was thrown away" if gone else "has no blank labels left"
        raise NotFound(f"Roll {number} {why}.")
    return found[0]
