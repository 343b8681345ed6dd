"""What labels say."""

from collections.abc import Iterable, Mapping, Sequence

from django.db.models import Exists, OuterRef, Subquery

from fraginv.base.errors import Conflict, NotFound
from fraginv.base.models import Code, OldCode, Organisation
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.show import show_day, show_pieces
from fraginv.labels.rules.parts import Label
from fraginv.labels.rules.words import PALYTOXIN
from fraginv.stock.models import Colony, Frag, Rack
from fraginv.stock.queries.arrivals import get_arrival
from fraginv.stock.queries.colonies import get_cutting

MOST_LABELS = 5_000


def codes_to_print(texts: Sequence[str]) -> list[Code]:
    """Return the codes that were typed or scanned, in that order.

    For the code that a frag had before it stands the one that it has now.
    Raises: CodeError for a mistyped one; NotFound naming those that were never
        made here; Conflict for a blank one that was thrown away.
    Queries: 1, and 1 more where a frag has another code now.
    """
    wanted = [read_code(text) for text in texts]
    known = Code.objects.annotate(since=code_since("pk")).in_bulk(set(wanted))
    missing = [show_code(code) for code in dict.fromkeys(wanted) if code not in known]
    if missing:
        more = f" and {len(missing) - 5} more" if len(missing) > 5 else ""
        raise NotFound(f"No such code was made here: {', '.join(missing[:5])}{more}.")
    rows = [known[code] for code in wanted]
    refuse_thrown_away(rows)
    return with_codes_now([(row, row.since) for row in rows])


def code_since(field: str) -> Subquery:
    """Return a subquery: the code that a frag has now, by the one in a field that it had before.

    It is empty for any code that is in use as it stands.
    """
    own = Frag.objects.filter(code=OuterRef("folded"))
    frags = Code.objects.filter(pk=OuterRef("folded"), kind=Code.Kind.FRAG)
    was = OldCode.objects.filter(~Exists(own), Exists(frags), code__kind=Code.Kind.FRAG)
    return Subquery(was.filter(folded=OuterRef(field)).order_by("-pk").values("code")[:1])


def with_codes_now(found: Sequence[tuple[Code, str | None]]) -> list[Code]:
    """Return codes, and instead of one that a frag had before the one that it has now.

    Args: each code with what ``code_since`` said of it.
    Queries: 1, or none where no frag has another code now.
    """
    renamed = {since for _, since in found if since}
    known = Code.objects.in_bulk(renamed) if renamed else {}
    return [known[since] if since else code for code, since in found]


def refuse_thrown_away(codes: Iterable[Code]) -> None:
    """Refuse blank codes whose roll was thrown away.

    Raises: Conflict.
    """
    for code in codes:
        if code.kind == Code.Kind.BLANK and code.run is None:
            raise Conflict(
                f"{show_code(code.pk)} was thrown away with its roll of blank labels. Print new"
                " blank labels."
            )


def codes_of_cutting(cutting_id: int) -> list[str]:
    """Return the codes of the frags that a cutting made, in the order of the bench.

    Raises: NotFound.
    Queries: 2.
    """
    cutting = get_cutting(cutting_id)
    return list(cutting.frags.order_by("pk").values_list("code_id", flat=True))


def codes_of_arrival(arrival_id: int) -> list[str]:
    """Return the codes of the frags that came in together, in their order.

    Raises: NotFound.
    Queries: 2.
    """
    arrival = get_arrival(arrival_id)
    return list(arrival.frags.order_by("pk").values_list("code_id", flat=True))


def labels_for(codes: Sequence[Code]) -> list[Label]:
    """Return what the label of each code says now.

    Queries: 5 at most, however many codes.
    """
    house = organisation()
    known: dict[str, Label] = {}
    for kind, of_kind in LABELS_BY_KIND.items():
        chosen = {code.pk for code in codes if code.kind == kind}
        if chosen:
            known |= of_kind(chosen, house)
    return [known.get(code.pk) or blank_label(code) for code in codes]


def frag_labels(codes: Iterable[str], house: Organisation) -> Mapping[str, Label]:
    """Return the labels of frags and lots by code.

    Queries: 1.
    """
    frags = Frag.objects.filter(code__in=codes).select_related("variety__genus")
    return {frag.code_id: frag_label(frag, house) for frag in frags}


def frag_label(frag: Frag, house: Organisation) -> Label:
    """Say on a label what a frag is and when it was cut; of a lot, how many it has."""
    cut = f"Cut {show_day(frag.cut_on, house)}"
    return Label(
        code=frag.code_id,
        title=frag.variety.name,
        detail=f"{cut} · {show_pieces(frag.pieces, house)}" if frag.is_lot else cut,
        caution=PALYTOXIN if frag.variety.genus.palytoxin else "",
    )


def colony_labels(codes: Iterable[str], house: Organisation) -> Mapping[str, Label]:
    """Return the labels of mother colonies by code.

    Queries: 1.
    """
    colonies = Colony.objects.filter(code__in=codes).select_related("variety__genus")
    return {
        colony.code_id: Label(
            code=colony.code_id,
            title=colony.variety.name,
            detail=f"Colony since {show_day(colony.acquired_on, house)}",
            caution=PALYTOXIN if colony.variety.genus.palytoxin else "",
        )
        for colony in colonies
    }


def rack_labels(codes: Iterable[str], house: Organisation) -> Mapping[str, Label]:
    """Return the labels of racks by code.

    Queries: 1.
    """
    racks = Rack.objects.filter(code__in=codes).select_related("trough__system")
    return {
        rack.code_id: Label(
            code=rack.code_id,
            title=f"{rack.trough.name}, {rack.name}",
            detail=f"{rack.trough.system.name} · {rack.rows} × {rack.columns} holes",
        )
        for rack in racks
    }


LABELS_BY_KIND = {
    Code.Kind.FRAG: frag_labels,
    Code.Kind.COLONY: colony_labels,
    Code.Kind.RACK: rack_labels,
}


def blank_label(code: Code) -> Label:
    """Return a label with a line to write on, for a code that belongs to nothing yet."""
    where = ""
    if code.run is not None and code.position is not None:
        where = f"Roll {code.run}, no. {code.position + 1}"
    return Label(code=code.pk, detail=where, to_write_on=True)
