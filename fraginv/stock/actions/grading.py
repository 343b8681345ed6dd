"""Grading frags by eye: healed, ready, not ready after all."""

from collections.abc import Iterable
from datetime import timedelta

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.ready import LOOK_AGAIN_DAYS
from fraginv.stock.rules.stages import SIZES, Stage


@one_transaction
def grade_frags(
    frag_ids: Iterable[int],
    *,
    size: str,
    by: Person,
    heads: int | None = None,
    fresh: bool = False,
) -> int:
    """Grade frags ready at a size, and perhaps a number of heads.

    Args: ``fresh`` puts what still heals or grows up for sale knowingly, as a fresh cut.
    Returns: how many frags.
    Raises: InputError for an unknown size or no frag; Conflict where one cannot be graded,
        or is in quarantine.
    """
    if size not in SIZES:
        raise InputError(f"{size!r} is no size. Choose one of {', '.join(SIZES)}.")
    if heads is not None and not 1 <= heads <= 999:
        raise InputError(f"{heads} heads: write a number from 1 to 999.")
    frags = frags_with(frag_ids)
    for frag in frags:
        refuse_ungradable(frag, fresh=fresh)
    body = {"size": size} | ({} if heads is None else {"heads": heads})
    return change(frags, Kind.GRADED, by=by, body=body | ({"fresh": True} if fresh else {}))


def refuse_ungradable(frag: Frag, *, fresh: bool) -> None:
    """Refuse what is in quarantine, and to call a fresh cut what was graded ready.

    Raises: Conflict.
    """
    code = show_code(frag.code_id)
    if frag.quarantined and frag.pieces:
        raise Conflict(
            f"{code} is in quarantine, from where nothing is sold. Release it first, "
            "then grade it.",
            code=frag.code_id,
        )
    if fresh and frag.stage == Stage.READY and not frag.fresh:
        raise Conflict(
            f"{code} is graded ready, so it is no fresh cut. Say first that it is not ready.",
            code=frag.code_id,
        )


@one_transaction
def mark_healed(frag_ids: Iterable[int], *, by: Person) -> int:
    """Note that frags have healed and are growing.

    Returns: how many frags.
    Raises: Conflict where one is graded ready already.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if frag.stage == Stage.READY:
            raise Conflict(
                f"{show_code(frag.code_id)} is graded ready already. "
                "Open it to say that it is not ready.",
                code=frag.code_id,
            )
    return change(frags, Kind.INSPECTED, by=by, body={"stage": Stage.GROWING.value})


@one_transaction
def look_later(frag_ids: Iterable[int], *, by: Person) -> int:
    """Note that frags which are likely ready are not yet; they are proposed again in two weeks.

    What was noted as wrong with one stays so.
    Returns: how many frags.
    Raises: Conflict where one does not grow.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if frag.stage != Stage.GROWING:
            raise Conflict(
                f"{show_code(frag.code_id)} is {frag.stage}, not growing.", code=frag.code_id
            )
    propose_later(frags)
    return change(frags, Kind.INSPECTED, by=by, body={"later": True})


def propose_later(frags: Iterable[Frag]) -> None:
    """Let frags be proposed as likely ready some days from now.

    Queries: 1.
    """
    later = today() + timedelta(days=LOOK_AGAIN_DAYS)
    Frag.objects.filter(pk__in=[frag.pk for frag in frags]).update(likely_on=later)


@one_transaction
def mark_not_ready(frag_ids: Iterable[int], *, by: Person) -> int:
    """Note that frags which were graded ready are not: they grow on, and are not for sale.

    Returns: how many frags.
    Raises: Conflict where one is not graded ready.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if frag.stage != Stage.READY:
            raise Conflict(
                f"{show_code(frag.code_id)} is {frag.stage}, not ready.", code=frag.code_id
            )
    body = {"stage": Stage.GROWING.value, "was": Stage.READY.value}
    propose_later(frags)
    return change(frags, Kind.INSPECTED, by=by, body=body)
