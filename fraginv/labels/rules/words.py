"""Words that stand on labels."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

# What stands on a label in white on black. The whole caution is on the screen at the bench.
PALYTOXIN = "PALYTOXIN · gloves"

# What stands on a bag, whose reader has no such screen: the fullest wording that fits.
# Source: as the caution of that name in base.rules.cautions.
FULL_CAUTIONS: Mapping[str, Sequence[str]] = MappingProxyType(
    {
        PALYTOXIN: (
            "PALYTOXIN: can make you very ill. Gloves and eye protection. Never heat or scrub it.",
            "PALYTOXIN: poison. Gloves and eye protection. Never heat or scrub it.",
            "PALYTOXIN: gloves, eye protection. Never heat or scrub.",
            "PALYTOXIN: gloves, goggles. Never heat it.",
        )
    }
)
