"""Reading pictures that came in and wait, and what carries the codes in them."""

import hashlib
import uuid
from collections.abc import Collection, Iterable, Iterator
from datetime import timedelta
from typing import Final

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import Code, StoredFile
from fraginv.base.queries.files import damaged_names, missing_names, storage_for
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.growth.models import Batch, Incoming
from fraginv.growth.rules import strays
from fraginv.growth.rules.intake import Named, Seen, State
from fraginv.growth.rules.others import others_named
from fraginv.stock.models import Colony, Frag, Rack
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.frags import frag_by_code
from fraginv.stock.queries.named import frags_named
from fraginv.stock.queries.places import rack_by_code
from fraginv.stock.rules.stages import ENDED

FOLDER: Final = "incoming"
# A worker that was lost is noticed long before.
OVERDUE: Final = timedelta(hours=6)


def waiting_name(incoming: Incoming) -> str:
    """Return the name under which the bytes of a picture that waits lie in the private store.

    Each has bytes of its own, also where two batches brought the same.
    """
    return f"{FOLDER}/{incoming.pk}-{incoming.sha256}"


def read_waiting(incoming: Incoming) -> bytes:
    """Return the bytes of a picture that waits.

    Raises: InputError where they are gone, or are not what was sent.
    """
    try:
        with storage_for(private=True).open(waiting_name(incoming)) as handle:
            data = bytes(handle.read())
    except FileNotFoundError as error:
        raise InputError(strays.GONE.text) from error
    if hashlib.sha256(data).hexdigest() != incoming.sha256:
        raise InputError(strays.GONE.text)
    return data


def waiting_pictures() -> QuerySet[Incoming]:
    """Return the pictures that wait, the first first.

    Queries: none until it is read, then 1.
    """
    return Incoming.objects.filter(state=State.WAITING.value).order_by("pk")


def overdue_pictures() -> QuerySet[Incoming]:
    """Return the pictures that wait for longer than any worker is away; as ``waiting_pictures``."""
    return waiting_pictures().filter(at__lt=clock.now() - OVERDUE)


def get_batch(key: uuid.UUID) -> Batch:
    """Return what one person sent in one go, with who sent it and the rack.

    Raises: NotFound.
    Queries: 1.
    """
    found = Batch.objects.select_related("by", "rack__trough").filter(key=key).first()
    if found is None:
        raise NotFound("These pictures did not come in. Choose them again.")
    return found


def kept_before(sha256: str) -> StoredFile | None:
    """Return the picture that is kept under a hash, or None.

    Queries: 1.
    """
    return StoredFile.objects.filter(sha256=sha256).first()


def is_spoilt(sha256: str) -> bool:
    """Tell whether a picture is kept, but its files are not as they were kept.

    It is mended then by what comes in. Private ones are not looked at.
    Queries: 1 for a new picture; else the storage reads its original once.
    """
    file = kept_before(sha256)
    if file is None or file.private:
        return False
    return any(missing_names(file)) or any(damaged_names(file))


def named_by(codes: Collection[str]) -> dict[str, Named]:
    """Return what carries each code; those that were never made are left out.

    Queries: 1 where there are any codes; 1 or 2 for frags, 1 for colonies and 1 for racks.
    """
    kinds = dict(Code.objects.filter(pk__in=codes).values_list("pk", "kind")) if codes else {}
    found = {code: Named(code, kind) for code, kind in kinds.items()}
    of_kind = {kind: {code for code in kinds if kinds[code] == kind} for kind in kinds.values()}
    for code, frag in frags_named(of_kind.get(Code.Kind.FRAG, ())).items():
        ended = frag.stage if frag.stage in ENDED else ""
        found[code] = Named(code, "frag", frag.pk, frag.rack_id, ended)
    colonies = Colony.objects.filter(code__in=of_kind.get(Code.Kind.COLONY, ()))
    for colony in colonies:
        found[colony.code_id] = Named(colony.code_id, "colony", colony.pk, colony.rack_id)
    for rack in Rack.objects.filter(code__in=of_kind.get(Code.Kind.RACK, ())):
        found[rack.code_id] = Named(rack.code_id, "rack", rack.pk, rack.pk)
    return found


def others_read(labels: Iterable[Seen], *, subject: Frag | Colony) -> list[Named]:
    """Return what the labels of a photo name instead of what it is to be filed under.

    Queries: as ``named_by``.
    """
    codes = {label.code for label in labels}
    if not codes - {subject.code_id}:
        return []
    kind = type(subject).__name__.lower()
    return others_named(sorted(codes), known=named_by(codes), kind=kind, pk=subject.pk)


def labels_of(incoming: Incoming) -> list[Seen]:
    """Return the labels that were read in a picture.

    Queries: none.
    """
    return [
        Seen(
            label["code"],
            tuple((x, y) for x, y in label["corners"]),
            label.get("times", 1),
        )
        for label in incoming.labels
    ]


def photographed(code: str) -> Frag | Colony | Rack:
    """Return what carries a code and may be photographed.

    Raises: NotFound for what is neither frag, colony nor rack.
    Queries: 2.
    """
    kind = Code.objects.filter(pk=code).values_list("kind", flat=True).first()
    if kind == Code.Kind.FRAG:
        return frag_by_code(code)
    if kind == Code.Kind.COLONY:
        return colony_by_code(code)
    if kind == Code.Kind.RACK:
        return rack_by_code(code)
    raise NotFound(
        f"{show_code(code)} is neither a frag, a colony nor a rack. Look at the label again.",
        code=code,
    )


def incoming_differences() -> Iterator[Difference]:
    """Yield each picture of the tray whose files are not what was kept.

    Queries: 1, read in portions; and the storage reads each original once.
    """
    there = Incoming.objects.filter(state=State.TRAY.value).select_related("file").order_by("pk")
    for incoming in there.iterator(chunk_size=2000):
        if incoming.file is None:
            continue
        where = f"picture {incoming.pk} in the tray"
        for said, names in (
            ("missing in the storage", list(missing_names(incoming.file))),
            ("not as it was kept", list(damaged_names(incoming.file))),
        ):
            if names:
                yield Difference(where, f"{said}: {', '.join(names)}")
