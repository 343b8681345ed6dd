"""What labels say, and label sheets as PDF."""

from collections.abc import Iterable, Mapping, Sequence

from django.db.models import QuerySet

from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import Code, Organisation
from fraginv.base.paper import paper_width, render_pdf
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.show import show_day, show_pieces
from fraginv.labels.models import PrintRun
from fraginv.labels.rules.fitting import fit_symbol
from fraginv.labels.rules.layout import Label, lay_out
from fraginv.labels.rules.stocks import STOCKS, LabelStock, check_skip, stock_named
from fraginv.stock.models import Colony, Frag, Rack
from fraginv.stock.queries.colonies import get_cutting

# What stands on a label in white on black. The whole caution is on the screen at the bench.
PALYTOXIN = "PALYTOXIN · gloves"
MOST_LABELS = 5_000


def codes_to_print(texts: Sequence[str]) -> list[Code]:
    """Return the codes that were typed or scanned, in that order.

    Raises: CodeError for a mistyped one; NotFound naming those that were never
        made here.
    Queries: 1.
    """
    wanted = [read_code(text) for text in texts]
    known = Code.objects.in_bulk(set(wanted))
    missing = [show_code(code) for code in dict.fromkeys(wanted) if code not in known]
    if missing:
        more = f" and {len(missing) - 5} more" if len(missing) > 5 else ""
        raise NotFound(f"No such code was made here: {', '.join(missing[:5])}{more}.")
    return [known[code] for code in wanted]


def codes_of_cutting(cutting_id: int) -> list[str]:
    """Return the codes of the frags that a cutting made, in the order of the bench.

    Raises: NotFound.
    Queries: 2.
    """
    cutting = get_cutting(cutting_id)
    return list(cutting.frags.order_by("pk").values_list("code_id", flat=True))


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


def sheet_pdf(codes: Sequence[Code], *, stock: LabelStock, skip: int, host: str) -> bytes:
    """Return label sheets for these codes as a PDF, true to size.

    Raises: InputError when the host is too long for the stock or the skip too
        large; PaperError when papers cannot be made.
    Queries: 5 at most.
    """
    check_skip(skip, stock=stock)
    layout = lay_out(
        labels_for(codes),
        stock=stock,
        skip=skip,
        host=host,
        measure=lambda text, weight: paper_width(text, weight=weight),
    )
    return render_pdf(
        "labels/paper_labels.html",
        {"layout": layout},
        finisher=lambda page: layout.sheets[page].drawing,
        tagged=False,
    )


def run_pdf(run: PrintRun) -> bytes:
    """Return the sheets of a print run, with the words as they are now.

    Queries: 6 at most.
    """
    stock = stock_named(run.stock)
    return sheet_pdf(run_codes(run), stock=stock, skip=run.skip, host=run.host)


def run_codes(run: PrintRun) -> list[Code]:
    """Return the codes of a print run in the order of its labels.

    Queries: 1.
    """
    return [label.code for label in run.labels.select_related("code").order_by("position")]


def get_run(run_id: int) -> PrintRun:
    """Return a print run.

    Raises: NotFound.
    Queries: 1.
    """
    found = PrintRun.objects.select_related("by").filter(pk=run_id).first()
    if found is None:
        raise NotFound("There is no such print run.")
    return found


def latest_runs() -> QuerySet[PrintRun]:
    """Return the ten latest print runs.

    Queries: 1.
    """
    return PrintRun.objects.select_related("by").order_by("-pk")[:10]


def what_host_gives() -> list[tuple[str, str]]:
    """Say for each paper how large the QR code is, and from how far a phone reads it.

    Queries: as ``organisation``.
    """
    host = organisation().label_host
    told = []
    for stock in STOCKS.values():
        try:
            fit = fit_symbol(stock, host=host)
            told.append(
                (stock.paper, f"{fit.symbol_mm:.1f} mm wide, reads from about {fit.reach_cm} cm")
            )
        except InputError as error:
            told.append((stock.paper, error.message))
    return told
