"""Noting that labels are lost, or found again."""

from collections.abc import Sequence

from fraginv.base import clock
from fraginv.base.errors import InputError
from fraginv.base.models import Code, Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.labels.actions.printing import check_count
from fraginv.labels.models import LostLabel
from fraginv.labels.queries.labels import codes_to_print
from fraginv.labels.queries.lost import now_waiting, waiting_for


@one_transaction
def mark_label_lost(codes: Sequence[str], *, by: Person) -> list[str]:
    """Note that the labels of these codes fell off or cannot be read; a print run clears them.

    Args: codes as typed or scanned; what a frag had before stands for the code it has now.
    Returns: those that were not noted already.
    Raises: CodeError, NotFound; InputError for none, or for a blank label.
    Queries: 3, 1 more per 200 codes, and 1 where a frag has another code now.
    """
    check_count(len(codes), blank=None)
    rows = {code.pk: code for code in codes_to_print(codes)}
    for code in rows.values():
        if code.kind == Code.Kind.BLANK:
            raise InputError(
                f"{show_code(code.pk)} belongs to nothing yet. Use the next blank label instead."
            )
    noted = now_waiting(rows)
    fresh = [code for pk, code in rows.items() if pk not in noted]
    LostLabel.objects.bulk_create(
        [LostLabel(code=code, noted_at=clock.now(), by=by) for code in fresh], batch_size=200
    )
    return [code.pk for code in fresh]


@one_transaction
def mark_label_found(codes: Sequence[str], *, by: Person) -> int:
    """Take codes from the list of lost labels; return how many were on it.

    Args: codes as typed or scanned.
    Raises: CodeError, NotFound; InputError for none.
    Queries: 2, and 1 where a frag has another code now.
    """
    check_count(len(codes), blank=None)
    rows = codes_to_print(codes)
    return waiting_for([code.pk for code in rows]).update(settled_at=clock.now())
