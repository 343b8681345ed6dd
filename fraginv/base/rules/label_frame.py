"""The line around a label's symbol: how large it is, from what is kept of the symbol.

The plane is that of the label, in millimetres from the symbol's own top left corner, x to
the right and y down. ``labels`` prints the line, ``growth`` may find it in photographs.
"""

from dataclasses import dataclass
from typing import Final

from fraginv.base.rules.card import Box
from fraginv.base.symbols import QUIET_MODULES

# A solid line round the quiet zone shows a camera where the symbol ends when algae covers a
# corner.
LINE_MM: Final = 0.4
# Symbols with finer modules are read, but no photograph is measured by them alone.
LEAST_MEASURED_MODULE_MM: Final = 0.6
# Lengths that were turned into another unit and back are equal up to this.
ROUNDING_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class LabelFrame:
    """The line around a symbol that is ``symbol_mm`` wide and has ``modules`` along a side."""

    symbol_mm: float
    modules: int

    @property
    def module_mm(self) -> float:
        """Return the side of one module."""
        return self.symbol_mm / self.modules

    @property
    def quiet_mm(self) -> float:
        """Return how wide the white between symbol and line is."""
        return QUIET_MODULES * self.module_mm

    @property
    def inner(self) -> Box:
        """Return the square along the line's inner edge."""
        return self.around(self.quiet_mm)

    @property
    def outer(self) -> Box:
        """Return the square along the line's outer edge."""
        return self.around(self.quiet_mm + LINE_MM)

    @property
    def can_measure(self) -> bool:
        """Tell whether the symbol is coarse enough to measure photographs by."""
        return is_coarse(self.module_mm)

    def around(self, away_mm: float) -> Box:
        """Return the square that far outside of the symbol."""
        side = self.symbol_mm + 2 * away_mm
        return Box(-away_mm, -away_mm, side, side)


def is_coarse(module_mm: float) -> bool:
    """Tell whether photographs can be measured by a symbol with modules of that side."""
    return module_mm >= LEAST_MEASURED_MODULE_MM - ROUNDING_MM
