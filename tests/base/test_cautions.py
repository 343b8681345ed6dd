"""The cautions: that they say what their sources say."""

import re

import pytest

from fraginv.base.rules.cautions import ALL, CAUTIONS

KEYS = ["palytoxin", "saw", "dips", "plant_room", "cites", "protected", "tax", "advice"]


def test_every_caution_is_there_once_with_text_and_source() -> None:
    assert [caution.key for caution in ALL] == list(CAUTIONS) == KEYS
    for caution in ALL:
        assert caution.text.endswith(".")
        assert caution.source
        assert not re.search(r"https?:", caution.text)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        # OATA with Health Protection Scotland, leaflet 2018: one part bleach to nine parts
        # water, nothing scrubbed, heated or steamed, urgent care and say coral was handled.
        ("palytoxin", ["1 part plain household bleach to 9 parts water", "hot water", "scrub"]),
        ("palytoxin", ["metallic taste", "urgent medical care", "handled coral", "gloves"]),
        # Common practice, no source.
        ("saw", ["eye protection", "splash shield", "ground-fault protection"]),
        ("dips", ["gloves", "never pour a dip back", "measure the dose", "time it"]),
        ("plant_room", ["mains", "carbon dioxide", "ultraviolet", "wet"]),
        # Anne Arundel County Department of Health on Mycobacterium marinum.
        ("plant_room", ["cuts out of tank water", "soap", "weeks after a cut"]),
        # CITES AC22 Inf. 8: live pieces of listed corals are covered whatever their size.
        ("cites", ["Appendix II", "across a border", "whatever the size", "lawful origin"]),
        ("protected", ["Check the species", "origin papers"]),
        ("tax", ["resale certificates", "tax adviser"]),
        ("advice", ["no legal, tax, medical or veterinary advice"]),
    ],
)
def test_a_caution_says_what_matters(key: str, words: list[str]) -> None:
    for word in words:
        assert word.casefold() in CAUTIONS[key].text.casefold()
