"""How large the symbol is that a photo shows, of the sizes at which its code was printed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from fraginv.growth.rules.problems import LABEL_SIZES_DIFFER, Problem

# Sizes that are closer than this are one size, as a ruler tells it.
SAME: Final = 0.002


class Size(Protocol):
    """A size at which a symbol was printed: its side in mm, and its modules where known."""

    @property
    def mm(self) -> float: ...

    @property
    def modules(self) -> int | None: ...


@dataclass(frozen=True, slots=True)
class Side:
    """The side of a symbol in mm, None where nobody knows, and what is to be said of it."""

    mm: float | None = None
    problems: tuple[Problem, ...] = ()


def side_of(sizes: Sequence[Size], *, version: int) -> Side:
    """Return how wide a symbol was printed.

    Args: the sizes of its code, the last first; ``version`` as it was read, which tells how
        many modules it has, and so often which of the sizes it is.
    Source: ISO/IEC 18004: version v has 17 + 4 v modules along a side.
    """
    modules = 17 + 4 * version
    fitting = [size.mm for size in sizes if size.modules in {None, modules}]
    if not fitting:
        return Side()
    differs = any(abs(mm / fitting[0] - 1) > SAME for mm in fitting)
    return Side(fitting[0], (LABEL_SIZES_DIFFER,) if differs else ())
