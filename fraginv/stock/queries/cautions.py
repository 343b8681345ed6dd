"""What to beware of before a coral is cut, or written down."""

from fraginv.base.rules.cautions import CAUTIONS, Caution
from fraginv.taxa.models import Genus
from fraginv.taxa.queries import cautions_for, species_to_check


def bench_cautions() -> list[Caution]:
    """Return what holds at every bench: blades and glue, dips."""
    return [CAUTIONS["saw"], CAUTIONS["dips"]]


def poison_cautions(genus: Genus) -> list[Caution]:
    """Return what stands directly above the button that records a cutting."""
    return [caution for caution in cautions_for(genus) if caution.key == "palytoxin"]


def paper_cautions(genus: Genus, *, species: str) -> list[Caution]:
    """Return what the law says of a coral when it is written down.

    Without a species the caution stands wherever the genus holds protected ones.
    Queries: one for each name of the genus when a species is given, else 1.
    """
    found = [one for one in cautions_for(genus, species=species) if one.key != "palytoxin"]
    if not species.strip() and species_to_check(genus.name):
        found.append(CAUTIONS["protected"])
    return found
