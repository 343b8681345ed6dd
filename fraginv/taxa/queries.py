"""Finding a genus by any of its names, and what to beware of."""

from difflib import get_close_matches

from django.db.models import Q, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.rules.cautions import CAUTIONS, Caution
from fraginv.taxa.models import Genus, ProtectedSpecies
from fraginv.taxa.rules import fold_name


def get_genus(genus_id: int) -> Genus:
    """Return a genus.

    Raises: NotFound.
    Queries: 1.
    """
    found = Genus.objects.filter(pk=genus_id).first()
    if found is None:
        raise NotFound("There is no such genus.")
    return found


def genera_matching(text: str) -> list[Genus]:
    """Return the genera that bear a name, current ones before older and trade names.

    Queries: 1.
    """
    wanted = fold_name(text)
    found = Genus.objects.filter(Q(name__iexact=wanted) | Q(other_names__icontains=wanted))
    exact = [genus for genus in found if wanted in map(fold_name, genus.names)]
    return sorted(exact, key=lambda genus: fold_name(genus.name) != wanted)


def genera_beginning(text: str) -> QuerySet[Genus]:
    """Return the genera one of whose names begins with what was typed, by name.

    The table of genera is short and does not grow with the stock.
    Queries: none until it is read, then 1.
    """
    wanted = fold_name(text)
    own = Q(name__istartswith=wanted) | Q(other_names__istartswith=wanted)
    return Genus.objects.filter(own | Q(other_names__icontains=f"; {wanted}")).order_by("name")


def genus_named(text: str) -> Genus:
    """Return the genus with this name; a current name wins over older and trade names.

    Raises: NotFound with the names that look nearest.
    Queries: 1, and 1 more when it is not found.
    """
    found = genera_matching(text)
    if found:
        return found[0]
    near = names_near(text)
    hint = f"Did you mean {' or '.join(near)}?" if near else "Look at the spelling."
    raise NotFound(f"“{text.strip()}” is not in the table of genera. {hint}", near=near)


def names_near(text: str) -> list[str]:
    """Return up to three known names that look like what was typed, nearest first.

    Queries: 1.
    """
    known = {fold_name(name): name for genus in Genus.objects.all() for name in genus.names}
    near = get_close_matches(fold_name(text), known, n=3, cutoff=0.6)
    return [known[name] for name in near]


def protected_species(genus: str, *, species: str) -> ProtectedSpecies | None:
    """Return the protected species that this name is, by its current or its listed name.

    Every word of ``species`` is compared, so that “cf. palmata” is found too;
    a genus alone is never a protected species.
    Queries: 1.
    """
    words = fold_name(species).split()
    for entry in species_to_check(genus):
        if entry.species in words:
            return entry
    return None


def species_to_check(genus: str) -> list[ProtectedSpecies]:
    """Return the protected species that a genus holds or held: look at the species' name.

    Queries: 1.
    """
    wanted = fold_name(genus)
    return list(
        ProtectedSpecies.objects.filter(
            Q(genus__iexact=wanted) | Q(also_known_as__istartswith=f"{wanted} ")
        )
    )


def cautions_for(genus: Genus, *, species: str = "") -> list[Caution]:
    """Return what to beware of with a genus, and with a species when that is known.

    Queries: one for each name of the genus when a species is given, else none.
    """
    keys = []
    if genus.palytoxin:
        keys.append("palytoxin")
    if genus.cites:
        keys.append("cites")
    if species and any(protected_species(name, species=species) for name in genus.names):
        keys.append("protected")
    return [CAUTIONS[key] for key in keys]
