"""Renaming places, changing their measures, and taking empty ones out of use."""

from fraginv.base.actions.words import rewrite_words
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.catalogue import free_name
from fraginv.stock.actions.rack_locks import lock_rack, lock_system, lock_trough
from fraginv.stock.actions.racks import refuse_out_of_use
from fraginv.stock.models import Frag, Rack, RackCount, System, Trough
from fraginv.stock.models.places import IN_USE
from fraginv.stock.queries import places
from fraginv.stock.queries.holes import highest_hole
from fraginv.stock.queries.racks import stands_in
from fraginv.stock.rules.racks import MOST_ACROSS


@one_transaction
def change_rack(rack_id: int, *, name: str, rows: int, columns: int, by: Person) -> Rack:
    """Give a rack another name or another grid.

    Raises: InputError for a grid that cannot be; Conflict where the name is taken, or a
        frag stands in a hole that the new grid does not have.
    Lock: the rack.
    Queries: 6, and 1 for each thousand words.
    """
    rack = lock_rack(rack_id)
    refuse_out_of_use(rack)
    others = rack.trough.racks.filter(IN_USE).exclude(pk=rack.pk)
    name = free_name(name, taken=others, what="rack")
    if not (1 <= rows <= MOST_ACROSS and 1 <= columns <= MOST_ACROSS):
        raise InputError(
            f"{rows} by {columns} holes: a rack has 1 to {MOST_ACROSS} rows and columns."
        )
    row, column = highest_hole(rack)
    if row > rows or column > columns:
        raise Conflict(
            f"Something stands in row {row} or column {column} of {rack}. Move what stands "
            f"outside {rows} rows of {columns} holes first, or say that its hole is not known."
        )
    Rack.objects.filter(pk=rack.pk).update(name=name, rows=rows, columns=columns)
    rack.name, rack.rows, rack.columns = name, rows, columns
    rewrite_words(places.names_of_racks([rack]), kind=places.RACK)
    return rack


@one_transaction
def withdraw_rack(rack_id: int, *, by: Person) -> Rack:
    """Take an empty rack out of use; its past stays, and its name is free again.

    Raises: Conflict where something stands in it.
    Lock: the rack.
    """
    rack = lock_rack(rack_id)
    refuse_out_of_use(rack)
    frags = Frag.objects.filter(stands_in(rack)).count()
    colonies = places.colonies_in(rack).count()
    if frags or colonies:
        raise Conflict(
            f"{rack} holds {frags} frags and {colonies} colonies. Empty it first: then it "
            "can be taken out of use."
        )
    rack.withdrawn_on = today()
    Rack.objects.filter(pk=rack.pk).update(withdrawn_on=rack.withdrawn_on)
    RackCount.objects.filter(rack=rack).delete()
    rewrite_words(places.names_of_racks([rack]), kind=places.RACK)
    return rack


@one_transaction
def change_trough(trough_id: int, *, name: str, by: Person) -> Trough:
    """Give a trough another name.

    Raises: Conflict where its system has another one of that name.
    Queries: 5, and 1 for each thousand words.
    """
    trough = places.get_trough(trough_id)
    others = trough.system.troughs.filter(IN_USE).exclude(pk=trough.pk)
    trough.name = free_name(name, taken=others, what="trough")
    Trough.objects.filter(pk=trough.pk).update(name=trough.name)
    rewrite_words(places.names_of_troughs([trough]), kind=places.TROUGH)
    below = places.every_rack().filter(trough=trough)
    rewrite_words(places.names_of_racks(below), kind=places.RACK)
    return trough


@one_transaction
def withdraw_trough(trough_id: int, *, by: Person) -> Trough:
    """Take a trough without racks out of use.

    Raises: NotFound for one that is not there any more; Conflict where a rack stands in it.
    Lock: the trough.
    """
    trough = lock_trough(trough_id)
    if trough.racks.filter(IN_USE).exists():
        raise Conflict(f"Racks stand in {trough}. Move them, or take them out of use first.")
    trough.withdrawn_on = today()
    Trough.objects.filter(pk=trough.pk).update(withdrawn_on=trough.withdrawn_on)
    rewrite_words(places.names_of_troughs([trough]), kind=places.TROUGH)
    return trough


@one_transaction
def change_system(
    system_id: int,
    *,
    name: str,
    by: Person,
    least_days: int | None = None,
    clean_checks: int | None = None,
    check_days: int | None = None,
) -> System:
    """Give a system another name, and what stays in its quarantine other rules.

    Args: ``least_days`` to stay, ``clean_checks`` in a row to leave, ``check_days`` from one
        check to the next; as they were where not given.
    Raises: InputError for days or checks that cannot be; Conflict where the name is taken.
    Queries: 4 and 1 for each thousand words; and as many again for what is in it.
    """
    system = places.get_system(system_id)
    others = System.objects.filter(IN_USE).exclude(pk=system.pk)
    system.name = free_name(name, taken=others, what="system")
    rules = {"least_days": least_days, "clean_checks": clean_checks, "check_days": check_days}
    for field, value in rules.items():
        if value is not None:
            setattr(system, field, value)
    if not (
        0 <= system.least_days <= 365
        and 0 <= system.clean_checks <= 30
        and 1 <= system.check_days <= 60
    ):
        raise InputError("Quarantine lasts 0 to 365 days and 0 to 30 checks, 1 to 60 days apart.")
    columns = {field: getattr(system, field) for field in ("name", *rules)}
    System.objects.filter(pk=system.pk).update(**columns)
    rewrite_words(places.names_of_systems([system]), kind=places.SYSTEM)
    troughs = Trough.objects.select_related("system").filter(system=system)
    rewrite_words(places.names_of_troughs(troughs), kind=places.TROUGH)
    racks = places.every_rack().filter(trough__system=system)
    rewrite_words(places.names_of_racks(racks), kind=places.RACK)
    return system


@one_transaction
def withdraw_system(system_id: int, *, by: Person) -> System:
    """Take a system without troughs out of use.

    Raises: NotFound for one that is not there any more; Conflict where a trough is in it.
    Lock: the system.
    """
    system = lock_system(system_id)
    if system.troughs.filter(IN_USE).exists():
        raise Conflict(f"{system} has troughs. Take them out of use first.")
    system.withdrawn_on = today()
    System.objects.filter(pk=system.pk).update(withdrawn_on=system.withdrawn_on)
    rewrite_words(places.names_of_systems([system]), kind=places.SYSTEM)
    return system
