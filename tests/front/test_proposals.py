"""What a first run proposes for a time zone, and the currencies that it offers."""

import pytest

from fraginv.front.rules.proposals import Proposal, currencies, proposal_for

LOCALES = ["en_US", "en_GB", "en_DE", "en_AU"]


# Tender: ISO 4217, list one. Paper: ISO 216, and Letter in North America (ANSI/ASME Y14.1).
@pytest.mark.parametrize(
    ("zone", "currency", "locale", "paper"),
    [
        ("America/New_York", "USD", "en_US", "letter"),
        ("America/Toronto", "CAD", "en_US", "letter"),
        ("Europe/London", "GBP", "en_GB", "a4"),
        ("Europe/Berlin", "EUR", "en_DE", "a4"),
        ("Asia/Tokyo", "JPY", "en_US", "a4"),
        ("Australia/Brisbane", "AUD", "en_AU", "a4"),
    ],
)
def test_what_is_usual_there(zone: str, currency: str, locale: str, paper: str) -> None:
    assert proposal_for(zone, locales=LOCALES) == Proposal(currency, locale, paper)


@pytest.mark.parametrize("zone", ["", "Etc/UTC", "Reef/Nowhere"])
def test_nothing_is_made_up_for_a_zone_without_a_land(zone: str) -> None:
    assert proposal_for(zone, locales=LOCALES) == Proposal("", "en_US", "letter")


def test_currencies_are_those_in_which_accounts_can_be_kept() -> None:
    offered = dict(currencies())
    assert (offered["USD"], offered["JPY"]) == ("US Dollar", "Japanese Yen")
    # ISO 4217: gold and testing have no minor unit.
    assert not {"XAU", "XTS"} & offered.keys()
