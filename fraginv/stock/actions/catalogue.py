"""Writing down varieties, colonies and places."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet

from fraginv.base.actions.codes import issue_codes
from fraginv.base.actions.words import write_words
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Code, Person
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.rack_locks import lock_system, lock_trough
from fraginv.stock.models import Rack, System, Trough, Variety
from fraginv.stock.models.places import IN_USE
from fraginv.stock.queries import places
from fraginv.stock.queries.varieties import KIND, names_of
from fraginv.taxa.queries import genus_named
from fraginv.taxa.rules import normalise_group

BATCH = 500


@one_transaction
def add_variety(
    name: str,
    *,
    genus: str,
    by: Person,
    species: str = "",
    group: str = "",
    care: str = "",
    note: str = "",
) -> Variety:
    """Write down a variety; its group comes from the genus unless it is given.

    Raises: InputError for an empty name or unknown group; NotFound for an
        unknown genus; Conflict where the name is taken.
    Queries: 4.
    """
    name = " ".join(name.split())
    if not name:
        raise InputError("A variety needs a name.")
    if Variety.objects.filter(name__iexact=name).exists():
        raise Conflict(f"There is a variety {name} already.")
    found = genus_named(genus)
    variety = Variety(
        name=name,
        genus=found,
        species=species.strip(),
        group=normalise_group(group) if group.strip() else found.group,
        care=care.strip(),
        note=note.strip(),
    )
    return write_varieties([variety])[0]


@one_transaction
def write_varieties(varieties: Sequence[Variety]) -> list[Variety]:
    """Write down many new varieties at once; the caller has checked each of them.

    Queries: 1 for each 500, and 1 for each thousand words that they are found by.
    """
    made = Variety.objects.bulk_create(varieties, batch_size=BATCH)
    write_words(names_of(made), kind=KIND)
    return made


def free_name(name: str, *, taken: QuerySet[Any], what: str) -> str:
    """Return a name with single spaces that nothing in ``taken`` has.

    Raises: InputError for an empty one; Conflict where it is taken.
    Queries: 1.
    """
    name = " ".join(name.split())
    if not name:
        raise InputError(f"The {what} needs a name.")
    if taken.filter(name__iexact=name).exists():
        raise Conflict(f"There is a {what} {name} here already. Choose another name.")
    return name


@one_transaction
def add_system(name: str, *, by: Person, quarantine: bool = False) -> System:
    """Write down a body of water.

    Raises: Conflict where the name is taken.
    """
    name = free_name(name, taken=System.objects.filter(IN_USE), what="system")
    made = System.objects.create(name=name, quarantine=quarantine)
    write_words(places.names_of_systems([made]), kind=places.SYSTEM)
    return made


@one_transaction
def add_trough(system: System, *, name: str, by: Person) -> Trough:
    """Write down a trough of a system.

    Raises: NotFound for a system that is out of use; Conflict where it has one of that name.
    Lock: the system.
    """
    system = lock_system(system.pk)
    name = free_name(name, taken=system.troughs.filter(IN_USE), what="trough")
    made = Trough.objects.create(system=system, name=name)
    write_words(places.names_of_troughs([made]), kind=places.TROUGH)
    return made


@one_transaction
def add_rack(trough: Trough, *, name: str, rows: int, columns: int, by: Person) -> Rack:
    """Write down a rack with a code of its own.

    Raises: InputError for a grid outside 1 to 40 by 1 to 40; NotFound for a trough that is
        out of use; Conflict where it has one of that name.
    Lock: the trough.
    """
    trough = lock_trough(trough.pk)
    name = free_name(name, taken=trough.racks.filter(IN_USE), what="rack")
    if not (1 <= rows <= 40 and 1 <= columns <= 40):
        raise InputError(f"{rows} by {columns} holes: a rack has 1 to 40 rows and columns.")
    (code,) = issue_codes(1, kind=Code.Kind.RACK)
    made = Rack.objects.create(code=code, trough=trough, name=name, rows=rows, columns=columns)
    write_words(places.names_of_racks([made]), kind=places.RACK)
    return made
