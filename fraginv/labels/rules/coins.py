"""Coins of known size, by which anybody can check what is measured from photographs."""

from dataclasses import dataclass
from math import pi
from typing import Final


@dataclass(frozen=True, slots=True)
class Coin:
    """A coin: how wide and how thick it is minted, in millimetres."""

    name: str
    diameter_mm: float
    thickness_mm: float

    @property
    def area_mm2(self) -> float:
        """Return the area of its face, seen from above, in mm²."""
        return pi / 4 * self.diameter_mm**2

    @property
    def words(self) -> str:
        """Say what must be typed in, and what must come out."""
        return (
            f"{self.thickness_mm:.2f} mm high, {self.diameter_mm:.2f} mm wide,"
            f" {self.area_mm2:.0f} mm²"
        )


# Source: the mints' own specifications, the euro's by Council Regulation (EU) 729/2014 (both
# from memory; the quarter's size was looked up in 2026).
COINS: Final = (Coin("US quarter", 24.26, 1.75), Coin("1 euro", 23.25, 2.33))
