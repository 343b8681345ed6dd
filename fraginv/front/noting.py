"""What a round finds wrong with a frag: a look, a picture, and what is done about it, at once."""

from collections.abc import Mapping
from typing import Final, Literal

from fraginv.base.actions.files import Unpacked
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.growth.actions.photos import file_unpacked
from fraginv.stock.actions.aside import set_apart
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Frag

Then = Literal["stay", "apart", "lost"]

# The cause of a loss that stands for what a look found; what is not here is its own cause.
CAUSE_OF: Final[Mapping[str, str]] = {"algae": "overgrown", "fallen": "fell", "other": "unknown"}


@one_transaction
def note_trouble(
    frag: Frag,
    *,
    wrong: str,
    by: Person,
    then: Then = "stay",
    pieces: int = 1,
    picture: Unpacked | None = None,
    note: str = "",
) -> None:
    """Note what is wrong with a frag, file a picture of it, and set it apart or write it off.

    Args: ``pieces`` of it are lost, where it is.
    Raises: as the actions; nothing is written then.
    """
    mark_wrong([frag.pk], wrong=wrong, note=note, by=by)
    if picture is not None:
        file_unpacked(frag, picture=picture, by=by)
    if then == "apart" and not frag.apart:
        set_apart([frag.pk], reason=note or wrong, by=by)
    if then == "lost":
        record_loss(frag.pk, pieces=pieces, cause=CAUSE_OF.get(wrong, wrong), by=by, note=note)
