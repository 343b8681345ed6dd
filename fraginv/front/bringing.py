"""Bringing frags into a rack, one after another, as they are scanned or typed."""

from collections.abc import Sequence
from dataclasses import dataclass

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.front.queries.scans import frag_scanned
from fraginv.stock.actions.moving import check_hole, fill_holes, move_frag, place_frags
from fraginv.stock.models import Frag, Rack
from fraginv.stock.queries.holes import in_hole
from fraginv.stock.rules.moves import Moved
from fraginv.stock.rules.racks import Hole

MOST = 200


class Taken(Conflict):
    """Somebody else stands in the hole: ``data`` has the code, and who should come there."""

    code = "taken"


@dataclass(frozen=True)
class Brought:
    """Which frags came, and what else came of it."""

    frags: Sequence[Frag]
    moved: Moved


@one_transaction
def bring(
    texts: Sequence[str],
    *,
    rack: Rack,
    by: Person,
    fill: bool = False,
    hole: Hole | None = None,
    other: str = "",
) -> Brought:
    """Put the frags that texts mean into a rack, in their order.

    Args: ``fill`` its free holes as one reads them; ``hole`` is for one frag; ``other``
        says what becomes of who stands there, "swap" or "unknown".
    Raises: InputError for no text, too many, or several for one hole; Taken where somebody
        stands in the hole and ``other`` does not say what becomes of them; as
        ``frag_scanned`` for what is not one frag; as ``move_frag``.
    """
    if not texts:
        raise InputError("Scan or type the code of a frag first.")
    if len(texts) > MOST:
        raise InputError(f"{len(texts)} at once: bring at most {MOST}.")
    frags = [frag_scanned(text) for text in texts]
    if hole is not None:
        return into_hole(frags, rack=rack, hole=hole, other=other, by=by)
    put = fill_holes if fill else place_frags
    return Brought(frags, put([frag.pk for frag in frags], rack=rack, by=by))


def into_hole(frags: Sequence[Frag], *, rack: Rack, hole: Hole, other: str, by: Person) -> Brought:
    """Put one frag into a hole, and ask first where another one stands there.

    Raises: as ``bring``.
    """
    row, column = hole
    check_hole(rack, row=row, column=column, frags=len(frags))
    frag = frags[0]
    there = in_hole(rack, hole=hole).exclude(pk=frag.pk).first()
    if there is not None and not other:
        raise Taken(
            f"{show_code(there.code_id)} stands in row {row}, hole {column} already. "
            "Say below what becomes of it.",
            there=there.code_id,
            frag=frag.code_id,
        )
    moved = move_frag(
        frag.pk,
        rack=rack,
        row=row,
        column=column,
        by=by,
        other="swap" if other == "swap" else "unknown",
    )
    return Brought(frags, moved)
