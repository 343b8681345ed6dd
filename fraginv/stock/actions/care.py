"""What is done to frags with the hands: dips, new mounts, new labels."""

from collections.abc import Iterable
from datetime import date

from fraginv.base.actions.codes import bind_codes, issue_codes
from fraginv.base.errors import InputError
from fraginv.base.models import Code, OldCode, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change, change_row
from fraginv.stock.actions.cuttings import check_medium
from fraginv.stock.actions.log import when
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.cutting import check_dip
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.parts import check_next_dip


@one_transaction
def dip_frags(frag_ids: Iterable[int], *, dip: str, by: Person, again: date | None = None) -> int:
    """Note that frags were dipped, in what, and when the next dip is due.

    Returns: how many frags.
    Raises: InputError without a word for the dip, or for a next day that cannot be;
        Conflict for one that does not live here.
    """
    told = check_dip(dip)
    if not told:
        raise InputError("Write down what the frags were dipped in.")
    check_next_dip(again, today=today())
    body = {"dip": told} | ({"again": again.isoformat()} if again else {})
    return change(frags_with(frag_ids), Kind.DIPPED, by=by, body=body)


@one_transaction
def remount_frags(frag_ids: Iterable[int], *, medium: str, by: Person) -> int:
    """Note that frags stand on another plug, disc or tile.

    Returns: how many frags.
    Raises: InputError for what frags do not stand on; Conflict for one that does not live here.
    """
    check_medium(medium)
    return change(frags_with(frag_ids), Kind.REMOUNTED, by=by, body={"medium": medium})


@one_transaction
def relabel_frag(frag_id: int, *, by: Person, new_code: str = "") -> Frag:
    """Give a frag another code; the one it had leads to it from now on.

    Args: ``new_code`` is a blank label as scanned or typed; without one a code is drawn.
    Returns: the frag with its new code.
    Raises: Conflict for a label that is in use, or a frag that does not live here.
    Queries: 11.
    """
    (frag,) = frags_with([frag_id])
    old = frag.code_id
    (code,) = (
        bind_codes(new_code, count=1, kind=Code.Kind.FRAG)
        if new_code.strip()
        else issue_codes(1, kind=Code.Kind.FRAG)
    )
    moment = when()
    change_row(frag, Kind.RELABELLED, moment=moment, by=by, body={"from": show_code(old)}).save(
        force_insert=True
    )
    Frag.objects.filter(pk=frag.pk).update(code=code)
    OldCode.objects.filter(code=old).update(code=code)
    OldCode.objects.create(code=code, text=show_code(old), folded=fold_old_code(old))
    frag.code = code
    return frag
