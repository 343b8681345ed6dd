"""Writing down mother colonies, and changing what is written of them."""

from collections.abc import Mapping
from datetime import date
from typing import Any, Final, TypedDict, Unpack

from django.db.models import Model

from fraginv.base.actions.codes import issue_codes
from fraginv.base.errors import Conflict
from fraginv.base.models import Code, Party, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Right
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.bars import bar_bound
from fraginv.stock.actions.colony_log import last_event, note_colony
from fraginv.stock.actions.log import when
from fraginv.stock.actions.rack_locks import rack_in_use
from fraginv.stock.actions.stopped_water import water_of
from fraginv.stock.models import Colony, Rack, Variety
from fraginv.stock.queries.quarantine import since_in
from fraginv.stock.queries.stops import stops_of_waters
from fraginv.stock.rules.colonies import (
    LONGEST_PAPER,
    ColonyKind,
    Origin,
    check_most_pieces,
    check_origin,
    check_rest_days,
    check_source_code,
    check_terms,
    read_words,
)
from fraginv.stock.rules.cutting import check_day
from fraginv.stock.rules.quarantine import Stay, check_release
from fraginv.stock.rules.stops import say_left

WORDS: Final = {
    "invoice": ("invoice", LONGEST_PAPER),
    "permit": ("permit", LONGEST_PAPER),
    "no_paper_because": ("reason", 200),
    "note": ("note", 4000),
}
# What only those may read who may see terms: the log says that they changed, not how.
TERMS: Final = ("owner", "owner_share", "owner_least")
LINES: Final = "note"


class ColonyFacts(TypedDict, total=False):
    """What may be written of a colony; what is left out stays as it is.

    ``owner_share`` is in hundredths of a percent, ``owner_least`` in minor units.
    """

    origin: str
    acquired_on: date | None
    supplier: Party | None
    invoice: str
    permit: str
    source_code: str
    no_paper_because: str
    owner: Party | None
    owner_share: int | None
    owner_least: int | None
    rack: Rack | None
    rest_days: int
    most_pieces: int | None
    note: str


@one_transaction
def add_colony(variety: Variety, *, by: Person, **facts: Unpack[ColonyFacts]) -> Colony:
    """Write down a mother colony with a code of its own; what was seized or lent is barred.

    Raises: InputError for a day to come, an unknown origin or source code, rest days
        outside 0 to 730, or terms without an owner.
    Lock: the rack, then the colony.
    Queries: 5, 1 for a rack, and those of ``bar_bound``.
    """
    cleaned = clean_facts(facts)
    rack_in_use(cleaned.get("rack"))
    cleaned["acquired_on"] = cleaned.get("acquired_on") or today()
    colony = Colony(variety=variety, **cleaned)
    check_facts(colony)
    (colony.code,) = issue_codes(1, kind=Code.Kind.COLONY)
    colony.save(force_insert=True)
    moment = when(colony.acquired_on)
    note_colony(colony.pk, ColonyKind.CAME_IN, by=by, body={}, moment=moment)
    bar_bound(colony, by=by)
    return colony


@one_transaction
def change_colony(
    colony_id: int,
    *,
    by: Person,
    seen: int | None = None,
    despite: str = "",
    **facts: Unpack[ColonyFacts],
) -> Colony:
    """Change what is written of a colony; its log keeps what it said before.

    Args: ``seen`` is the last event that whoever changes it had before their eyes;
        ``despite`` says how it was found, or why it leaves, where it leaves quarantine.
    Raises: InputError as ``add_colony``; Conflict where somebody changed it since, or it
        may not leave quarantine.
    Lock: the rack, then the colony.
    Queries: 5 where something changes, 1 for a rack, and 4 where it stands in quarantine.
    """
    cleaned = clean_facts(facts)
    if "rack" in cleaned:
        cleaned["rack"] = rack_in_use(cleaned["rack"])
    colony = Colony.objects.select_for_update().select_related(None).get(pk=colony_id)
    if seen is not None and seen != last_event(colony_id):
        raise Conflict("Somebody else has changed this colony meanwhile. Open the page again.")
    before = {name: getattr(colony, name) for name in cleaned}
    for name, value in cleaned.items():
        setattr(colony, name, value)
    check_facts(colony)
    changed = {name: value for name, value in before.items() if value != cleaned[name]}
    if not changed:
        return colony
    why = despite.strip()
    if "rack" in changed:
        refuse_out_of_quarantine(colony, left=changed["rack"], despite=why, by=by)
    colony.save(update_fields=list(changed))
    if changed.keys() & {"origin", "owner_share"}:
        bar_bound(colony, by=by)
    note_changes(colony, changed, despite=why, by=by)
    return colony


def note_changes(colony: Colony, was: Mapping[str, Any], *, despite: str, by: Person) -> None:
    """Write down that a colony was moved, and what else was written of it before.

    Racks are carried from water to water, so a move keeps the systems' ids as well.
    Queries: 1 for a move, 1 for what else changed, and 1 for each rack read without its trough.
    """
    others = {name: value for name, value in was.items() if name != "rack"}
    if "rack" in was:
        body = {"from": plain(was["rack"]), "rack": colony.rack_id}
        body |= {"from_system": system_id(was["rack"]), "system": system_id(colony.rack)}
        body |= {"despite": despite} if despite else {}
        note_colony(colony.pk, ColonyKind.MOVED, by=by, body=body)
    if others:
        note_colony(colony.pk, ColonyKind.CHANGED, by=by, body=told_before(others))


def system_id(rack: Rack | None) -> int | None:
    """Return the system in which a rack is now, or that there is none."""
    return rack.trough.system_id if rack is not None else None


def refuse_out_of_quarantine(
    colony: Colony, *, left: Rack | None, despite: str, by: Person
) -> None:
    """Refuse to take a colony out of quarantine, or stopped water, as if it were any other.

    Raises: Conflict saying until when it stays, or what to write down.
    Queries: 0 to 5.
    """
    if left is None:
        return
    if not (despite and by.can(Right.RELEASE_EARLY)):
        refuse_out_of_stop(left, now=colony.rack)
    if not left.trough.system.quarantine:
        return
    system = left.trough.system
    if colony.rack is not None and colony.rack.trough.system_id == system.pk:
        return
    # How often a colony was found clean is not counted; whoever takes it out says so.
    needed = system.clean_checks
    stay = Stay(since_in(system, colony=colony), needed, system.least_days, needed)
    early = by.can(Right.RELEASE_EARLY)
    check_release("This colony", stay, today=today(), despite=despite, may_early=early)
    if not despite:
        raise Conflict("Write down how it was found before it leaves quarantine.")


def refuse_out_of_stop(left: Rack, *, now: Rack | None) -> None:
    """Refuse to take a colony out of water under a stop-sale that does not hold where it goes.

    Raises: Conflict.
    Queries: 1 to 4.
    """
    here = water_of(left.trough)
    there = water_of(now.trough if now is not None else None)
    if here != there and say_left(stops_of_waters({here}), left=here, now=there):
        raise Conflict(
            "A stop-sale holds where this colony stands. Move it once that has ended; a manager "
            "may before, with a reason."
        )


def clean_facts(facts: ColonyFacts) -> dict[str, Any]:
    """Return facts with their words trimmed.

    Raises: InputError for words that are too long.
    """
    cleaned: dict[str, Any] = dict(facts)
    for name, (what, longest) in WORDS.items():
        if name in cleaned:
            read = read_words(cleaned[name], longest=longest, what=what)
            cleaned[name] = cleaned[name].strip() if name == LINES else read
    return cleaned


def check_facts(colony: Colony) -> None:
    """Refuse what cannot be written of a colony.

    Raises: InputError.
    """
    check_day(colony.acquired_on, today=today())
    check_rest_days(colony.rest_days)
    check_most_pieces(colony.most_pieces)
    check_origin(colony.origin or Origin.CUT_HERE)
    check_source_code(colony.source_code)
    check_terms(colony.owner_id is not None, share=colony.owner_share, least=colony.owner_least)


def told_before(changed: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a log keeps of what was written before; of terms only that they changed."""
    was = {name: plain(value) for name, value in changed.items() if name not in TERMS}
    return {"was": was, "terms": True} if set(changed) & set(TERMS) else {"was": was}


def plain(value: Any) -> Any:
    """Return a value as a log keeps it: ids, never names."""
    if isinstance(value, Model):
        return value.pk
    return value.isoformat() if isinstance(value, date) else value
