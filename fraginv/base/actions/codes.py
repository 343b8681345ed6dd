"""Making codes and binding those that were printed ahead."""

from collections.abc import Sequence

from fraginv.base import clock
from fraginv.base.actions.keeping import next_number
from fraginv.base.chance import choice
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Code
from fraginv.base.queries.codes import get_code
from fraginv.base.rules.codes import draw_code, read_code, show_code
from fraginv.base.transactions import one_transaction

MOST_AT_ONCE = 5_000
# Runs of blank labels are numbered on through all years.
RUNS, EVERY_YEAR = "run", 0


@one_transaction
def issue_codes(count: int, *, kind: Code.Kind) -> list[Code]:
    """Make new codes of one kind, drawn at random.

    Raises: InputError unless ``count`` is 1 to 5,000.
    Queries: 2 per 500 codes, on SQLite 5.
    """
    if not 1 <= count <= MOST_AT_ONCE:
        raise InputError(f"{count} codes at once: ask for 1 to {MOST_AT_ONCE:,}.")
    return Code.objects.bulk_create(
        [Code(code=code, kind=kind, made_at=clock.now()) for code in fresh_codes(count)],
        batch_size=500,
    )


@one_transaction
def issue_blank_run(count: int) -> list[Code]:
    """Make a run of codes to print ahead, in the order in which they will stand.

    Lock: as ``next_number``, so that two people at once get a run each.
    Queries: 2, and those of ``issue_codes`` and 1 more per 250 codes.
    """
    codes = issue_codes(count, kind=Code.Kind.BLANK)
    run = next_number(RUNS, year=EVERY_YEAR)
    for position, code in enumerate(codes):
        code.run, code.position = run, position
    Code.objects.bulk_update(codes, ["run", "position"], batch_size=250)
    return codes


@one_transaction
def bind_codes(first: str, *, count: int, kind: Code.Kind) -> list[Code]:
    """Bind a code printed ahead, and those that follow it on its run, to new things.

    Args: ``first`` as scanned or typed.
    Raises: Conflict when one of them is in use or the run is too short.
    Queries: 3.
    """
    start = get_code(read_code(first))
    if start.kind == Code.Kind.BLANK and start.run is None:
        raise Conflict(
            f"{show_code(start.code)} was thrown away with its roll. Scan another blank label."
        )
    if start.kind != Code.Kind.BLANK or start.run is None or start.position is None:
        raise Conflict(f"{show_code(start.code)} is in use already. Scan a blank label.")
    codes = list(
        Code.objects.filter(run=start.run, position__gte=start.position).order_by("position")[
            :count
        ]
    )
    refuse_unless_blank(codes, count=count, first=start.code)
    # The run too is asked again: it may have been thrown away while this one looked.
    blank = Code.objects.filter(run=start.run, kind=Code.Kind.BLANK)
    changed = blank.filter(pk__in=[code.pk for code in codes]).update(kind=kind)
    if changed != count:
        raise Conflict("Somebody else has just used one of these labels. Scan a blank one again.")
    return codes


def refuse_unless_blank(codes: Sequence[Code], *, count: int, first: str) -> None:
    """Say which label of a run stands in the way.

    Raises: Conflict.
    """
    for code in codes:
        if code.kind != Code.Kind.BLANK:
            raise Conflict(
                f"{show_code(code.code)}, on the run that begins with {show_code(first)}, "
                "is in use already. Scan the first of a row of blank labels."
            )
    if len(codes) < count:
        raise Conflict(
            f"Only {len(codes)} blank labels are left on this run, and {count} are needed. "
            "Take a new sheet, or record two cuttings."
        )


def fresh_codes(count: int) -> list[str]:
    """Draw codes that are not in the table yet.

    Queries: 1 per 500 codes.
    """
    fresh: dict[str, None] = {}
    while len(fresh) < count:
        drawn = {draw_code(choice) for _ in range(min(count - len(fresh), 500))}
        taken = set(Code.objects.filter(pk__in=drawn).values_list("pk", flat=True))
        fresh |= dict.fromkeys(code for code in sorted(drawn) if code not in taken)
    return list(fresh)[:count]
