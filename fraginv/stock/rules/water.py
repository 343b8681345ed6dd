"""What is written down of the water, in which units, and what cannot be."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.days import EARLIEST_DAY

LONGEST_TEXT: Final = 200
PLAIN: Final = re.compile(r"-?[0-9]{1,6}(?:\.[0-9]{1,3})?", re.ASCII)


class WaterKind(StrEnum):
    """What an entry of the water log is about."""

    TEMPERATURE = "temperature"
    ALKALINITY = "alkalinity"
    CALCIUM = "calcium"
    MAGNESIUM = "magnesium"
    NITRATE = "nitrate"
    PHOSPHATE = "phosphate"
    SALINITY = "salinity"
    OUTAGE = "outage"
    TREATMENT = "treatment"
    DOSE = "dose"


MEASURED: Final[frozenset[WaterKind]] = frozenset(WaterKind) - {
    WaterKind.OUTAGE,
    WaterKind.TREATMENT,
    WaterKind.DOSE,
}


@dataclass(frozen=True)
class Measure:
    """A measured kind: its name, its unit, and between what it lies in any sea water.

    ``hint`` says what a number outside probably was.
    """

    name: str
    unit: str
    least: Decimal
    most: Decimal
    hint: str = ""

    @property
    def label(self) -> str:
        """Return its name with its unit."""
        return f"{self.name}, {self.unit}"


def measure(name: str, unit: str, least: str, most: str, hint: str = "") -> Measure:
    """Return a measured kind with its bounds as texts."""
    return Measure(name, unit, Decimal(least), Decimal(most), hint)


# Wide bounds that catch a slip of the hand or another unit: common practice, no source.
MEASURES: Final[Mapping[WaterKind, Measure]] = {
    WaterKind.TEMPERATURE: measure("Temperature", "°C", "5", "45", "77 °F are 25 °C."),
    WaterKind.ALKALINITY: measure(
        "Alkalinity", "dKH", "0", "30", "125 mg/L as CaCO₃ or 2.5 meq/L are 7 dKH."
    ),
    WaterKind.CALCIUM: measure("Calcium", "mg/L", "50", "1000"),
    WaterKind.MAGNESIUM: measure("Magnesium", "mg/L", "200", "3000"),
    WaterKind.NITRATE: measure("Nitrate", "mg/L", "0", "500"),
    WaterKind.PHOSPHATE: measure("Phosphate", "mg/L", "0", "20", "80 µg/L are 0.08 mg/L."),
    WaterKind.SALINITY: measure(
        "Salinity", "ppt", "2", "60", "A specific gravity of 1.026 is about 35 ppt."
    ),
}
HAPPENED: Final[Mapping[str, str]] = {
    WaterKind.OUTAGE.value: "Outage",
    WaterKind.TREATMENT.value: "Treatment",
    WaterKind.DOSE.value: "Dose",
}


def name_of_kind(kind: str) -> str:
    """Return the name of a kind."""
    known = MEASURES.get(WaterKind(kind))
    return known.name if known else HAPPENED[kind]


def unit_of(kind: str) -> str:
    """Return the unit of a measured kind, nothing for what has none."""
    known = MEASURES.get(WaterKind(kind))
    return known.unit if known else ""


def read_value(text: str, *, kind: WaterKind) -> Decimal:
    """Read a measured value, with at most three decimals.

    Raises: InputError for what is no number, or cannot be in sea water.
    """
    typed = text.strip()
    if not PLAIN.fullmatch(typed):
        raise InputError(
            f"{typed[:40] or 'Nothing'} is not a number; write it with a point, as in 8.2."
        )
    return check_value(Decimal(typed), kind=kind)


def check_value(value: Decimal, *, kind: WaterKind) -> Decimal:
    """Refuse a value that cannot be in sea water.

    Raises: InputError that says between what it lies, and what it may have been.
    """
    known = MEASURES[kind]
    if not known.least <= value <= known.most:
        hint = f" {known.hint}" if known.hint else " Look at the decimal point."
        raise InputError(
            f"{known.name} of {value:f} {known.unit} cannot be; it lies between "
            f"{known.least} and {known.most} {known.unit}.{hint}"
        )
    return value


def check_text(text: str, *, kind: WaterKind) -> str:
    """Return what an outage, a treatment or a dose was, in single-spaced words.

    Raises: InputError for none, or too many.
    """
    words = " ".join(text.split())
    if kind not in MEASURED and not words:
        raise InputError(f"Say what the {kind.value} was: what, how much, how long.")
    if len(words) > LONGEST_TEXT:
        raise InputError(f"Say it in at most {LONGEST_TEXT} characters.")
    return words


def check_moment(at: datetime, *, day: date, now: datetime) -> None:
    """Refuse a moment that has not come, or is before anything was written down.

    Raises: InputError.
    """
    if at > now:
        raise InputError("That moment has not come yet. Leave it empty for now.")
    if day < EARLIEST_DAY:
        raise InputError(f"{day.isoformat()} is too long ago. Look at the year.")
