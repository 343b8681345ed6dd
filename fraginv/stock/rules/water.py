"""What is written down of the water."""

from enum import StrEnum
from typing import Final


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
