"""Frags as they stand in lists."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from django.db.models import QuerySet

from fraginv.base.models import Code
from fraginv.base.models.codes import End
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import CODE_LENGTH, LOOK_ALIKES
from fraginv.base.show import show_pieces
from fraginv.front.rules.finding import LAST_CHARACTERS
from fraginv.growth.queries.expected import ready_words
from fraginv.stock.models import Colony, Frag
from fraginv.stock.queries.frags import free_now, is_stopped
from fraginv.stock.queries.stops import STOPPED
from fraginv.stock.rules.cutting import rests_until
from fraginv.trade.rules.prices import Chosen

PAGE = 40
MOST_CODES = 500


@dataclass(frozen=True)
class FragRow:
    """One frag in a list, with what holds beside its stage.

    ``ready`` says when it will be ready, where that is asked. Its properties are what a row
    says; they are worked out here because forty rows of small steps in a template take longer
    than all else on a page.
    """

    frag: Frag
    free: int
    flags: list[str] = field(default_factory=list)
    price: Chosen | None = None
    ready: str = ""

    @property
    def place(self) -> str:
        """Return trough, rack and hole, nothing where it is not placed."""
        frag = self.frag
        if frag.rack is None:
            return ""
        hole = f" {frag.hole_row}/{frag.hole_column}" if frag.hole_row else ""
        return f"{frag.rack}{hole}"

    @property
    def began(self) -> str:
        """Say how it came here: by cutting, or from elsewhere."""
        return how_it_began(self.frag)

    @property
    def count(self) -> str:
        """Return size and pieces, and how many of a lot are not promised."""
        frag = self.frag
        size = f"size {frag.size}, " if frag.size else ""
        apart = frag.is_lot and self.free != frag.pieces
        free = f", {self.free} not promised" if apart else ""
        return f"{size}{show_pieces(frag.pieces, organisation())}{free}"


def how_it_began(frag: Frag) -> str:
    """Say what the day is on which a frag begins; of parts of what was received it is not known."""
    if frag.arrival_id is None:
        return "cut"
    return "here since" if frag.split_from_id else "received"


def flags_of(frag: Frag, *, free: int) -> list[str]:
    """Name what holds beside a frag's stage.

    Args: ``free`` pieces that nobody has at this moment.
    """
    barred = frag.colony is not None and bool(frag.colony.barred_because)
    told = {
        "held": free < frag.pieces,
        "apart": frag.apart,
        "quarantined": frag.quarantined,
        "stop-sale": is_stopped(frag),
        "kept": frag.kept_back,
        "barred": barred,
        "wrong": bool(frag.wrong),
        "fresh": frag.fresh,
    }
    return [flag for flag, holds in told.items() if holds]


def rows_of(frags: Iterable[Frag]) -> list[FragRow]:
    """Return rows of frags that were read by ``listed``."""
    return [
        FragRow(frag, free, flags_of(frag, free=free))
        for frag in frags
        for free in [getattr(frag, "free_now", frag.free)]
    ]


def with_forecasts(rows: Sequence[FragRow]) -> Sequence[FragRow]:
    """Return the rows of a page, each that is not ready yet with when it will be.

    Queries: 2, none where all are ready or gone.
    """
    words = ready_words([row.frag for row in rows], today=today())
    if not words:
        return rows
    return [replace(row, ready=words.get(row.frag.pk, "")) for row in rows]


def listed(*, at: datetime | None = None) -> QuerySet[Frag]:
    """Return frags with all that a list shows, the latest first.

    Args: ``at`` is the moment at which pieces are free, now unless given.
    Queries: none until it is read, then 1.
    """
    return (
        Frag.objects.select_related("variety", "colony", "rack__trough")
        .annotate(free_now=free_now(at=at), stopped=STOPPED)
        .order_by("-pk")
    )


def codes_beginning_with(text: str) -> list[str]:
    """Return the first codes of frags that begin so.

    Queries: 1, or none for what no code can begin with.
    """
    typed = "".join(text.upper().split()).replace("-", "")
    if not typed.isalnum() or len(typed) > CODE_LENGTH:
        return []
    first, last = typed.ljust(CODE_LENGTH, "0"), typed.ljust(CODE_LENGTH, "Z")
    found = Code.objects.filter(code__range=(first, last), kind=Code.Kind.FRAG).order_by("code")
    return list(found.values_list("code", flat=True)[:MOST_CODES])


def codes_ending_in(text: str) -> list[str]:
    """Return the codes that end in three characters.

    Queries: 1, or none for another number of characters.
    """
    if len(text) != LAST_CHARACTERS or not text.isalnum():
        return []
    end = text.upper().translate(LOOK_ALIKES)
    ending = Code.objects.alias(end=End("code")).filter(end=end)
    return list(ending.values_list("code", flat=True)[:MOST_CODES])


def resting_until(colony: Colony) -> date | None:
    """Return the day on which a colony may be cut again, or None where it may be now."""
    until = rests_until(colony.last_cut_on, rest_days=colony.rest_days)
    return until if until is not None and today() < until else None
