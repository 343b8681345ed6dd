"""Holding racks, troughs and systems while something is put into them, or done to them."""

from collections.abc import Iterable

from fraginv.base.errors import Conflict, NotFound
from fraginv.stock.models import Rack, System, Trough
from fraginv.stock.models.places import IN_USE
from fraginv.stock.queries.places import every_rack, troughs


def lock_racks(rack_ids: Iterable[int | None]) -> dict[int, Rack]:
    """Hold racks until the transaction ends, and return them by id as they are now.

    Whoever puts something into a rack, or takes the rack elsewhere, out of use or to another
    grid, holds it before looking at it, so that nothing comes to stand where it cannot.
    Lock: racks by ascending id, before colonies and frags.
    Args: None is no rack.
    Raises: NotFound for a rack that is not there.
    Queries: 1, or none for no rack; 1 more where PostgreSQL waited while one was moved.
    """
    wanted = {rack_id for rack_id in rack_ids if rack_id is not None}
    if not wanted:
        return {}
    rows = every_rack().filter(pk__in=wanted).order_by("pk")
    held = rows.select_for_update(of=("self",), no_key=True)
    found = {rack.pk: rack for rack in held}
    if len(found) < len(wanted):
        # A rack that was moved while this waited for it no longer fits the trough that the
        # statement had read beside it, and was left out; it is held all the same.
        found = {rack.pk: rack for rack in held.all()}
    if len(found) < len(wanted):
        raise NotFound("There is no such rack.")
    return found


def lock_rack(rack_id: int) -> Rack:
    """Hold one rack, and return it as it is now, as ``lock_racks`` does.

    Raises: NotFound.
    Queries: 1.
    """
    return lock_racks([rack_id])[rack_id]


def rack_in_use(rack: Rack | None) -> Rack | None:
    """Hold the rack into which something new comes, and return it as it is now.

    Raises: Conflict for one that is out of use.
    Queries: 1, or none for no rack.
    """
    if rack is None:
        return None
    held = lock_rack(rack.pk)
    if held.withdrawn_on is not None:
        raise Conflict(f"{held} is out of use. Choose another rack.")
    return held


def lock_trough(trough_id: int) -> Trough:
    """Hold a trough in use until the transaction ends, and return it with its system.

    Whoever puts a rack into it, or takes it out of use, holds it before looking at it.
    Lock: one trough, after racks.
    Raises: NotFound for one that is not there, or out of use.
    Queries: 1.
    """
    rows = troughs().filter(pk=trough_id).order_by("pk")
    found = rows.select_for_update(of=("self",), no_key=True).first()
    if found is None:
        raise NotFound("This trough is out of use. Choose another one.")
    return found


def lock_system(system_id: int) -> System:
    """Hold a system in use until the transaction ends, and return it as it is now.

    Whoever puts a trough into it, or takes it out of use, holds it before looking at it.
    Lock: one system, after troughs.
    Raises: NotFound for one that is not there, or out of use.
    Queries: 1.
    """
    rows = System.objects.filter(IN_USE, pk=system_id).order_by("pk")
    found = rows.select_for_update(no_key=True).first()
    if found is None:
        raise NotFound("This system is out of use. Choose another one.")
    return found
