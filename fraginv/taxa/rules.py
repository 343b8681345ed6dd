"""The trade's groups of corals, and how names of corals are compared."""

from typing import Final

from fraginv.base.errors import InputError

GROUPS: Final = (
    "SPS",
    "LPS",
    "soft",
    "zoanthid",
    "mushroom",
    "gorgonian",
    "anemone",
    "clam",
    "macroalga",
    "other",
)

GROUP_NAMES: Final[dict[str, str]] = {
    "SPS": "Small-polyp stony (SPS)",
    "LPS": "Large-polyp stony (LPS)",
    "soft": "Soft coral",
    "zoanthid": "Zoanthid",
    "mushroom": "Mushroom",
    "gorgonian": "Gorgonian",
    "anemone": "Anemone",
    "clam": "Clam",
    "macroalga": "Macroalga",
    "other": "Other",
}


def normalise_group(text: str) -> str:
    """Return the group that a typed word means, whatever its capitals; a plain plural is read too.

    Raises: InputError naming the ten groups.
    Source: common practice of the trade, no source.
    """
    typed = text.strip().casefold()
    for group in GROUPS:
        if typed in {group.casefold(), f"{group}s".casefold(), GROUP_NAMES[group].casefold()}:
            return group
    raise InputError(
        f"There is no group “{text.strip()}”. Use one of: {', '.join(GROUPS)}.", group=text
    )


def fold_name(text: str) -> str:
    """Return a name in lower case with single spaces, for comparing."""
    return " ".join(text.split()).casefold()


def split_names(text: str) -> list[str]:
    """Return the single names of a list written with semicolons."""
    return [name.strip() for name in text.split(";") if name.strip()]
