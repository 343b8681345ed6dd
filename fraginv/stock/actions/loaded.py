"""Writing colonies and frags that a table brought, many at once."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from fraginv.base import clock
from fraginv.base.actions.codes import MOST_AT_ONCE, issue_codes
from fraginv.base.actions.founding import parties_named
from fraginv.base.errors import Conflict
from fraginv.base.models import Code, OldCode, Person
from fraginv.base.queries.organisation import organisation_kept
from fraginv.base.rules.loads import Given
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.log import When, note_first, when
from fraginv.stock.actions.rack_locks import lock_racks
from fraginv.stock.models import Bar, Colony, ColonyEvent, Frag, Rack, Variety
from fraginv.stock.queries.frags import STATE
from fraginv.stock.queries.named import batches
from fraginv.stock.queries.varieties import pace_of
from fraginv.stock.rules.colonies import BAR_OF_ORIGIN, ColonyKind, is_bound
from fraginv.stock.rules.events import replay
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.stock.rules.ready import heal_by, likely_on

BATCH: Final = 500


@dataclass(frozen=True)
class Draft:
    """A thing to be written, with the line it stands on.

    Attributes: ``label`` is a blank label that it gets, or ""; ``rack`` is as it was read
        while the draft was made.
    """

    line: int
    label: str
    old_code: str
    variety: Variety
    rack: Rack | None


@dataclass(frozen=True)
class ColonyDraft(Draft):
    """A colony to be written.

    Attributes: ``supplier`` and ``owner`` are names of parties; ``columns`` has the others
    of the row.
    """

    supplier: str
    owner: str
    columns: Mapping[str, Any]


@dataclass(frozen=True)
class FragDraft(Draft):
    """A frag or lot to be written.

    Attributes: ``body`` is that of the event by which it comes in.
    """

    colony: Colony | None
    medium: str
    cut_on: date
    body: Mapping[str, Any]


def hold_racks(drafts: Sequence[Draft]) -> None:
    """Hold the racks into which drafts go, each as it was when the draft was checked against it.

    Raises: Conflict where one was carried, taken out of use or given another grid since.
    Queries: 1, or none for no rack.
    """
    read = {draft.rack.pk: draft.rack for draft in drafts if draft.rack is not None}
    for rack_id, rack in lock_racks(read).items():
        if checked_of(rack) != checked_of(read[rack_id]):
            raise Conflict(f"Rack {read[rack_id]} was changed while the table was read. Try again.")


def checked_of(rack: Rack) -> tuple[object, ...]:
    """Return what drafts are checked against of a rack, and of the water in which it is."""
    return (rack.trough_id, rack.trough.system_id, rack.withdrawn_on, rack.rows, rack.columns)


@one_transaction
def write_colonies(drafts: Sequence[ColonyDraft], *, by: Person) -> tuple[list[Given], list[str]]:
    """Write down colonies; the caller has checked each of them.

    Returns: their codes, and the names of suppliers and owners that were made.
    Raises: Conflict where somebody has just used one of the labels, or as ``hold_racks``.
    Lock: the racks.
    Queries: 5 for each 500, on SQLite more; 1 for racks.
    """
    hold_racks(drafts)
    codes = codes_of([draft.label for draft in drafts], kind=Code.Kind.COLONY)
    named = [name for draft in drafts for name in (draft.supplier, draft.owner)]
    parties, made = parties_named(named)
    colonies = Colony.objects.bulk_create(
        [
            Colony(
                code=code,
                variety=draft.variety,
                rack=draft.rack,
                supplier=parties.get(draft.supplier),
                owner=parties.get(draft.owner),
                barred_because=bar_words(draft.columns),
                **draft.columns,
            )
            for draft, code in zip(drafts, codes, strict=True)
        ],
        batch_size=BATCH,
    )
    note_arrivals(colonies, by=by)
    bar_all_bound(colonies, by=by)
    return write_old_codes(drafts, codes=codes), made


def bar_words(columns: Mapping[str, Any]) -> str:
    """Return why a colony is barred from the first, or nothing where it is not."""
    bound = is_bound(columns["origin"], has_terms=columns.get("owner_share") is not None)
    return BAR_OF_ORIGIN[columns["origin"]][1] if bound else ""


def bar_all_bound(colonies: Sequence[Colony], *, by: Person) -> None:
    """Give each colony that is barred from the first its bar, and note it.

    Queries: 2 for each 500 of them.
    """
    bound = [colony for colony in colonies if colony.barred_because]
    bars = Bar.objects.bulk_create(
        [
            Bar(
                colony=colony,
                kind=BAR_OF_ORIGIN[colony.origin][0],
                reason=colony.barred_because,
                by=by,
                set_at=clock.now(),
            )
            for colony in bound
        ],
        batch_size=BATCH,
    )
    moment = when()
    ColonyEvent.objects.bulk_create(
        [
            ColonyEvent(
                colony_id=bar.colony_id,
                kind=ColonyKind.BARRED.value,
                at=moment.at,
                day=moment.day,
                by=by,
                body={"bar": bar.pk},
            )
            for bar in bars
        ],
        batch_size=BATCH,
    )


def note_arrivals(colonies: Sequence[Colony], *, by: Person) -> None:
    """Write the first event of colonies, on the day since which each is here."""
    with organisation_kept():
        moments = {day: when(day) for day in {colony.acquired_on for colony in colonies}}
    ColonyEvent.objects.bulk_create(
        [
            ColonyEvent(
                colony=colony,
                kind=ColonyKind.CAME_IN.value,
                at=moments[colony.acquired_on].at,
                day=colony.acquired_on,
                by=by,
                body={},
            )
            for colony in colonies
        ],
        batch_size=BATCH,
    )


@one_transaction
def write_frags(drafts: Sequence[FragDraft], *, by: Person) -> list[Given]:
    """Write down frags that are here already, each with the event by which it comes in.

    The caller has checked each of them.
    Raises: Conflict where somebody has just used one of the labels, or as ``hold_racks``.
    Lock: the racks.
    Queries: 5 for each 500, on SQLite more; 1 for racks.
    """
    hold_racks(drafts)
    codes = codes_of([draft.label for draft in drafts], kind=Code.Kind.FRAG)
    moment = when()
    frags = Frag.objects.bulk_create(
        [
            frag_of(draft, code=code, moment=moment)
            for draft, code in zip(drafts, codes, strict=True)
        ],
        batch_size=BATCH,
    )
    note_first(frags, Kind.RECEIVED, moment=moment, by=by, bodies=[draft.body for draft in drafts])
    return write_old_codes(drafts, codes=codes)


def frag_of(draft: FragDraft, *, code: Code, moment: When) -> Frag:
    """Return a frag that stands as its first event says, to be saved."""
    state = replay([Happening(Kind.RECEIVED, moment.day, draft.body)])
    pace = pace_of(draft.variety)
    return Frag(
        code=code,
        variety=draft.variety,
        colony=draft.colony,
        is_lot=state.pieces > 1,
        medium=draft.medium,
        rack_id=state.rack,
        cut_on=draft.cut_on,
        heal_by=heal_by(draft.cut_on, pace=pace),
        likely_on=likely_on(draft.cut_on, pace=pace),
        last_seq=1,
        **{name: getattr(state, name) for name in STATE},
    )


def codes_of(labels: Sequence[str], *, kind: Code.Kind) -> list[Code]:
    """Return a code for each thing: that of its label, or else one that is new, in their order.

    Raises: Conflict where somebody has just used one of the labels.
    """
    bound = bind_labels([label for label in labels if label], kind=kind)
    new = new_codes(labels.count(""), kind=kind)
    return [bound[label] if label else next(new) for label in labels]


def new_codes(count: int, *, kind: Code.Kind) -> Iterator[Code]:
    """Yield so many new codes, made as many at once as may be."""
    for start in range(0, count, MOST_AT_ONCE):
        yield from issue_codes(min(MOST_AT_ONCE, count - start), kind=kind)


def bind_labels(labels: Sequence[str], *, kind: Code.Kind) -> dict[str, Code]:
    """Bind labels that were printed ahead, each to a thing of its own.

    Raises: Conflict where one of them is not blank any more.
    """
    bound: dict[str, Code] = {}
    for batch in batches(labels):
        blank = Code.objects.filter(pk__in=batch, kind=Code.Kind.BLANK, run__isnull=False)
        if blank.update(kind=kind) != len(batch):
            raise Conflict(
                "Somebody else has just used one of the labels in the table. Look at it again."
            )
        bound |= {code.pk: code for code in Code.objects.filter(pk__in=batch)}
    return bound


def write_old_codes(drafts: Sequence[Draft], *, codes: Sequence[Code]) -> list[Given]:
    """Write down under what marks things were known before; return the code of each line."""
    OldCode.objects.bulk_create(
        [
            OldCode(code=code, text=draft.old_code, folded=fold_old_code(draft.old_code))
            for draft, code in zip(drafts, codes, strict=True)
            if draft.old_code
        ],
        batch_size=BATCH,
    )
    return [
        Given(draft.line, code.pk, draft.old_code)
        for draft, code in zip(drafts, codes, strict=True)
    ]
