"""Words of tables about frags, as they are typed."""

from fraginv.base.errors import InputError
from fraginv.stock.rules.stages import MEDIUMS, SIZES, Stage

STAGES = (Stage.HEALING, Stage.GROWING, Stage.READY)


def read_size(cell: str) -> str:
    """Return the size that a word means, in any case; *Mini-colony* is ``mini``.

    Raises: InputError naming the sizes.
    """
    typed = cell.casefold()
    for size, name in SIZES.items():
        if typed in {size.casefold(), name.casefold()}:
            return size
    raise InputError(f"{cell[:40]} is no size; write one of: {', '.join(SIZES)}.")


def read_medium(cell: str) -> str:
    """Return what a frag is glued to; a plural is read too.

    Raises: InputError naming what there is.
    """
    typed = cell.casefold().removesuffix("s")
    if typed not in MEDIUMS:
        raise InputError(f"{cell[:40]}: frags stand on one of {', '.join(MEDIUMS)}.")
    return typed


def read_stage(cell: str) -> str:
    """Return the stage of a living frag.

    Raises: InputError naming the stages.
    """
    typed = cell.casefold()
    if typed not in STAGES:
        raise InputError(
            f"{cell[:40]} is no stage of a living frag; write one of: {', '.join(STAGES)}."
        )
    return typed
