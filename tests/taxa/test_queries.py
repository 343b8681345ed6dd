"""Finding genera and what to beware of."""

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import NotFound
from fraginv.taxa.models import Genus
from fraginv.taxa.queries import (
    cautions_for,
    genera_matching,
    genus_named,
    protected_species,
    species_to_check,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Zoanthus", "Zoanthus"),
        ("  zoanthus ", "Zoanthus"),
        ("ACROPORA", "Acropora"),
        # Older names and names of the trade (World Register of Marine Species; the
        # English ones are common practice, no source).
        ("Caulastrea", "Caulastraea"),
        ("Favia", "Dipsastraea"),
        ("Symphyllia", "Lobophyllia"),
        ("Scolymia", "Homophyllia"),
        ("Acanthastrea lordhowensis", "Micromussa"),
        ("Pachyclavularia", "Briareum"),
        ("green  star polyps", "Briareum"),
        ("kenya tree", "Capnella"),
    ],
)
def test_a_genus_is_found_by_any_of_its_names(typed: str, name: str) -> None:
    assert genus_named(typed).name == name


def test_a_current_name_wins_but_the_search_gives_both() -> None:
    # Most of the trade's Sinularia is Sclerophytum now: 1 species against 174 in
    # open octocoral trait data, July 2024.
    assert genus_named("Sinularia").name == "Sinularia"
    assert [genus.name for genus in genera_matching("sinularia")] == ["Sinularia", "Sclerophytum"]


@pytest.mark.parametrize("typed", ["", "   ", "a", "%", "Fav", ";", "polyps"])
def test_part_of_a_name_is_no_name(typed: str) -> None:
    assert genera_matching(typed) == []


def test_an_unknown_name_gets_the_nearest_ones() -> None:
    with pytest.raises(NotFound, match="“Zoanthis” is not in the table.*Did you mean Zoanthus"):
        genus_named("Zoanthis")
    with pytest.raises(NotFound, match="Look at the spelling"):
        genus_named("goldfish")


def test_finding_takes_one_statement(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    with django_assert_num_queries(1):
        genus_named("Favia")


@pytest.mark.parametrize(
    ("genus", "species", "found"),
    [
        ("Acropora", "palmata", "Acropora palmata"),
        ("acropora", " Palmata ", "Acropora palmata"),
        ("Acropora", "cf. palmata", "Acropora palmata"),
        # Listed as Euphyllia, now Fimbriaphyllia: both must be found.
        ("Euphyllia", "paradivisa", "Fimbriaphyllia paradivisa"),
        ("Fimbriaphyllia", "paradivisa", "Fimbriaphyllia paradivisa"),
    ],
)
def test_a_protected_species_is_found(genus: str, species: str, found: str) -> None:
    assert str(protected_species(genus, species=species)) == found


@pytest.mark.parametrize(
    ("genus", "species"),
    [
        ("Acropora", ""),
        ("Acropora", "   "),
        ("Acropora", "sp."),
        ("Acropora", "millepora"),
        ("Fimbriaphyllia", "ancora"),
        ("Euphyllia", "glabrescens"),
        ("Zoanthus", "palmata"),
        ("", "palmata"),
    ],
)
def test_a_genus_alone_or_another_species_is_not_protected(genus: str, species: str) -> None:
    assert protected_species(genus, species=species) is None


def test_the_species_to_check_of_a_genus() -> None:
    assert [str(entry) for entry in species_to_check("Euphyllia")] == ["Fimbriaphyllia paradivisa"]
    assert len(species_to_check("acropora")) == 10
    assert species_to_check("Zoanthus") == []
    assert species_to_check("") == []


@pytest.mark.parametrize(
    ("genus", "species", "keys"),
    [
        ("Zoanthus", "", ["palytoxin"]),
        ("Acropora", "", ["cites"]),
        ("Acropora", "millepora", ["cites"]),
        ("Acropora", "palmata", ["cites", "protected"]),
        ("Euphyllia", "paradivisa", ["cites", "protected"]),
        ("Heliopora", "", ["cites"]),
        ("Discosoma", "", []),
    ],
)
def test_cautions_of_a_genus(genus: str, species: str, keys: list[str]) -> None:
    cautions = cautions_for(genus_named(genus), species=species)
    assert [caution.key for caution in cautions] == keys
    assert all(caution.source for caution in cautions)


def test_cautions_of_a_genus_alone_ask_the_database_nothing(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    genus = Genus.objects.get(name="Acropora")
    with django_assert_num_queries(0):
        cautions_for(genus)
