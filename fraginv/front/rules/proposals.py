"""What a first run proposes for a time zone: currency, way of writing, paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from babel.core import get_global
from babel.numbers import get_currency_name, get_territory_currencies
from iso4217 import Currency

# Where paper is Letter and not A4. Source: Unicode CLDR, supplemental data, paperSize.
LETTER_LANDS = {
    *("BZ", "CA", "CL", "CO", "CR", "GT", "MX"),
    *("NI", "PA", "PH", "PR", "SV", "US", "VE"),
}


@dataclass(frozen=True)
class Proposal:
    """What is usual in a zone's land; a text is empty where nothing is known."""

    currency: str = ""
    locale: str = "en_US"
    paper: str = "letter"


def proposal_for(zone: str, *, locales: Sequence[str]) -> Proposal:
    """Propose what is usual in the land of a time zone.

    Args: ``locales`` are the ways of writing that there are, the land's own among them or not.
    Source: Unicode CLDR, by Babel: the lands of zones, and the tender of lands.
    """
    land = get_global("zone_territories").get(zone, "")
    tender = get_territory_currencies(land) if land else []
    if not tender:
        return Proposal()
    locale = f"en_{land}"
    return Proposal(
        currency=tender[0],
        locale=locale if locale in locales else "en_US",
        paper="letter" if land in LETTER_LANDS else "a4",
    )


@cache
def currencies() -> list[tuple[str, str]]:
    """List the currencies in which accounts can be kept, with their names."""
    codes = sorted(one.code for one in Currency if one.exponent is not None)
    return [(code, get_currency_name(code, locale="en")) for code in codes]
