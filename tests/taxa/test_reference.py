"""The reference tables as the migrations load them.

Families: World Register of Marine Species (family pages named in each row).
Listing in CITES Appendix II: CITES Animals Committee, AC22 Inf. 8. Protected
species: 79 FR 53851 (10 September 2014) and 89 FR 101993 (17 December 2024).
"""

from collections import Counter

import pytest
from django.db import IntegrityError, transaction

from fraginv.taxa.actions import load_reference
from fraginv.taxa.models import Genus, ProtectedSpecies
from fraginv.taxa.rules import GROUPS

pytestmark = pytest.mark.django_db

# What CITES lists in Appendix II: two orders and four families (AC22 Inf. 8).
LISTED_ORDERS = {"Scleractinia", "Antipatharia"}
LISTED_FAMILIES = {"Helioporidae", "Tubiporidae", "Milleporidae", "Stylasteridae"}

THREATENED_2014 = """
Dendrogyra cylindrus, Orbicella annularis, Orbicella faveolata, Orbicella franksi,
Mycetophyllia ferox, Acropora globiceps, Acropora jacquelineae, Acropora lokani,
Acropora pharaonis, Acropora retusa, Acropora rudis, Acropora speciosa, Acropora tenella,
Anacropora spinosa, Fimbriaphyllia paradivisa, Isopora crateriformis, Montipora australiensis,
Pavona diffluens, Porites napopora, Seriatopora aculeata
"""


def test_there_are_83_genera_each_with_its_source() -> None:
    assert Genus.objects.count() == 83
    assert not Genus.objects.filter(source="").exists()
    assert set(Genus.objects.values_list("group", flat=True)) <= set(GROUPS)


def test_a_row_from_memory_says_so_and_is_not_called_verified() -> None:
    for genus in Genus.objects.all():
        from_memory = (
            genus.source.startswith("from memory") or "family: from memory" in genus.source
        )
        assert genus.verified != from_memory, genus


def test_listing_follows_order_and_family() -> None:
    for genus in Genus.objects.all():
        listed = genus.order in LISTED_ORDERS or genus.family in LISTED_FAMILIES
        assert genus.cites == listed, genus


@pytest.mark.parametrize("name", ["Heliopora", "Tubipora", "Millepora"])
def test_corals_that_are_listed_by_family_alone(name: str) -> None:
    genus = Genus.objects.get(name=name)
    assert genus.cites
    assert genus.order != "Scleractinia"


def test_every_zoantharian_and_nothing_else_carries_the_palytoxin_caution() -> None:
    # Treat all zoantharians alike: leaflet of the Ornamental Aquatic Trade
    # Association with Health Protection Scotland, 2018.
    for genus in Genus.objects.all():
        assert genus.palytoxin == (genus.order == "Zoantharia"), genus
    assert set(Genus.objects.filter(palytoxin=True).values_list("name", flat=True)) == {
        "Zoanthus",
        "Palythoa",
        "Parazoanthus",
    }


# Accepted genera of each family (World Register of Marine Species; World List of
# Scleractinia 2020 for Plerogyridae): the table holds some of them, never more.
@pytest.mark.parametrize(
    ("family", "accepted", "held"),
    [
        ("Merulinidae", 24, 15),
        ("Lobophylliidae", 13, 8),
        ("Poritidae", 4, 3),
        ("Fungiidae", 16, 6),
        ("Plerogyridae", 4, 4),
        ("Euphylliidae", 7, 3),
    ],
)
def test_families_hold_no_more_genera_than_are_accepted(
    family: str, accepted: int, held: int
) -> None:
    found = set(Genus.objects.filter(family=family).values_list("name", flat=True))
    assert len(found) == held <= accepted


def test_the_living_genera_of_poritidae_but_one() -> None:
    # Bernardpora, Goniopora, Porites and Stylaraea are the four (World Register
    # of Marine Species, AphiaID 196105); the trade does not know Stylaraea.
    found = set(Genus.objects.filter(family="Poritidae").values_list("name", flat=True))
    assert found == {"Bernardpora", "Goniopora", "Porites"}


def test_the_orders_of_the_table() -> None:
    assert Counter(Genus.objects.order_by().values_list("order", flat=True)) == {
        "Scleractinia": 58,
        "Malacalcyonacea": 14,
        "Scleralcyonacea": 2,
        "Anthoathecata": 1,
        "Zoantharia": 3,
        "Corallimorpharia": 5,
    }


def test_22_species_are_protected() -> None:
    # 20 newly listed in 2014, and two Caribbean Acropora that were listed before.
    named = {name.strip() for name in THREATENED_2014.replace("\n", " ").split(",")}
    assert len(named) == 20
    assert {str(entry) for entry in ProtectedSpecies.objects.all()} == named | {
        "Acropora palmata",
        "Acropora cervicornis",
    }
    assert ProtectedSpecies.objects.count() == 22


def test_only_the_pillar_coral_is_endangered() -> None:
    # 89 FR 101993, 17 December 2024.
    endangered = ProtectedSpecies.objects.get(status="endangered")
    assert str(endangered) == "Dendrogyra cylindrus"
    assert "89 FR 101993" in endangered.source


def test_genera_of_the_table_that_hold_a_protected_species() -> None:
    protected = ProtectedSpecies.objects.values_list("genus", flat=True)
    found = set(Genus.objects.filter(name__in=protected).values_list("name", flat=True))
    assert found == {
        "Acropora",
        "Anacropora",
        "Montipora",
        "Isopora",
        "Seriatopora",
        "Porites",
        "Pavona",
        "Fimbriaphyllia",
    }


def test_loading_again_changes_nothing_and_mends_what_was_changed() -> None:
    before = list(Genus.objects.order_by("pk").values())
    Genus.objects.filter(name="Zoanthus").update(palytoxin=False)
    assert load_reference() == (83, 22)
    assert list(Genus.objects.order_by("pk").values()) == before
    assert ProtectedSpecies.objects.count() == 22


def test_the_database_refuses_a_group_that_is_none() -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Genus.objects.filter(name="Zoanthus").update(group="worms")
