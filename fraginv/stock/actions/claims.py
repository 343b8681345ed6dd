"""Holding, letting go, selling and taking back: nothing is promised twice.

Each takes pieces by one conditional update of the frag's ``free``, which
either finds enough or changes nothing. Whoever needs several frags takes them
by ascending id.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, NoReturn

from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, Value, When

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Party, Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.log import note, when
from fraginv.stock.actions.stopped_water import keep_apart, step_of
from fraginv.stock.models import Claim, Colony, Frag
from fraginv.stock.queries.frags import frags_with, not_for_sale, open_holds
from fraginv.stock.queries.stops import STOPPED
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.holds import (
    DIED,
    GIVING_WAY,
    ClaimKind,
    Holder,
    check_hold_pieces,
    hold_end,
    say_holders,
)
from fraginv.stock.rules.stages import Stage

# No condition may reach another table by a join: Django would then choose the row in a
# sub-select, which PostgreSQL does not look at again after waiting for a lock.
BARRED = Exists(Colony.objects.filter(pk=OuterRef("colony")).exclude(barred_because=""))
FOR_SALE = (
    Q(stage=Stage.READY.value, apart=False, quarantined=False, kept_back=False) & ~BARRED & ~STOPPED
)


@one_transaction
def hold_frag(
    frag_id: int,
    *,
    pieces: int,
    kind: ClaimKind,
    by: Person,
    until: datetime | None = None,
    party: Party | None = None,
    for_name: str = "",
) -> Claim:
    """Put pieces of a frag aside for somebody.

    Raises: InputError for a number or an end that cannot be, or for nobody;
        Conflict where they are not for sale or somebody has them.
    """
    check_hold_pieces(pieces)
    now = clock.now()
    end = hold_end(kind, until=until, now=now)
    if party is None and not for_name.strip():
        raise InputError("Say for whom the pieces are put aside.")
    end_run_out(frag_id, now=now)
    take_free(frag_id, pieces=pieces, columns={})
    claim = Claim.objects.create(
        frag_id=frag_id,
        pieces=pieces,
        kind=kind.value,
        party=party,
        for_name=for_name.strip(),
        until=end,
        by=by,
        made_at=now,
    )
    note(claim.frag_id, Kind.HELD, by=by, body={"claim": claim.pk, "pieces": pieces})
    return claim


@one_transaction
def let_go(claim_id: int, *, by: Person) -> Frag:
    """End a hold; its pieces are free again.

    Raises: Conflict where it has ended already.
    """
    claim = Claim.objects.select_related("frag").exclude(kind="sale").filter(pk=claim_id).first()
    if claim is None or not end_claim(claim, how="let go", by=by, now=clock.now()):
        raise Conflict("This hold has ended already. Look at the frag again.")
    return claim.frag


@one_transaction
def take_for_sale(frag_id: int, *, pieces: int, by: Person, hold_id: int | None = None) -> Claim:
    """Take pieces out for a sale: free ones, or those of a hold that is alive.

    What a hold has more than is sold is free again.
    Returns: the sale's claim.
    Raises: InputError for a number that is none; Conflict where they are not
        there to be sold.
    """
    check_hold_pieces(pieces)
    if hold_id is not None:
        return sell_held(frag_id, pieces=pieces, hold_id=hold_id, by=by)
    now = clock.now()
    end_run_out(frag_id, now=now)
    take_free(frag_id, pieces=pieces, columns=leaving(pieces))
    return note_sale(frag_id, pieces=pieces, by=by, hold=None, now=now)


def sell_held(frag_id: int, *, pieces: int, hold_id: int, by: Person) -> Claim:
    """Turn a hold into a sale.

    Raises: Conflict where the hold has ended, or the frag may not be sold any more.
    """
    now = clock.now()
    hold = Claim.objects.select_related("party").filter(pk=hold_id, frag=frag_id).first()
    if hold is None or pieces > hold.pieces:
        raise Conflict("The hold does not have so many pieces. Look at the frag again.")
    open_as_read = open_claims(now).filter(pk=hold_id, pieces=hold.pieces)
    if not open_as_read.update(ended_at=now, ended_how="sold"):
        raise Conflict(f"The hold of {hold.holder} has ended. Look at the frag again.")
    moved = Frag.objects.filter(FOR_SALE, pk=frag_id).update(
        free=F("free") + (hold.pieces - pieces), last_seq=F("last_seq") + 1, **leaving(pieces)
    )
    if not moved:
        say_why_not(frag_id, pieces=pieces)
    return note_sale(frag_id, pieces=pieces, by=by, hold=hold, now=now)


@one_transaction
def take_back(claim_id: int, *, pieces: int, alive: bool, by: Person) -> None:
    """Take back sold pieces; those that are alive are free again, or apart for a stop-sale.

    Raises: Conflict for more than were sold and are not back yet.
    """
    check_hold_pieces(pieces)
    sales = Claim.objects.select_related("frag__rack__trough").filter(kind=ClaimKind.SALE.value)
    claim = sales.get(pk=claim_id)
    back = Claim.objects.filter(pk=claim_id, back__lte=F("pieces") - pieces)
    if not back.update(back=F("back") + pieces):
        raise Conflict(f"Of {show_code(claim.frag.code_id)} not so many pieces were sold.")
    columns = coming_back(pieces) if alive else {}
    Frag.objects.filter(pk=claim.frag_id).update(last_seq=F("last_seq") + 1, **columns)
    body = {"claim": claim.pk, "pieces": pieces, "alive": alive}
    note(claim.frag_id, Kind.RETURNED, by=by, body=body)
    if alive and not claim.frag.pieces:
        keep_apart([step_of(claim.frag, rack=None)], by=by, moment=when())


def open_claims(now: datetime) -> QuerySet[Claim]:
    """Return holds that have neither been ended nor run out."""
    return Claim.objects.exclude(kind=ClaimKind.SALE.value).filter(
        Q(until__isnull=True) | Q(until__gt=now), ended_at__isnull=True
    )


def take_free(frag_id: int, *, pieces: int, columns: Mapping[str, Any]) -> None:
    """Take free pieces of a frag that is for sale, or none at all.

    This one conditional update is what keeps a piece from being promised twice.
    Args: ``columns`` are further columns that change with it.
    Raises: Conflict that says who has them.
    """
    taken = Frag.objects.filter(FOR_SALE, pk=frag_id, free__gte=pieces).update(
        free=F("free") - pieces, last_seq=F("last_seq") + 1, **columns
    )
    if not taken:
        say_why_not(frag_id, pieces=pieces)


def leaving(pieces: int) -> dict[str, Any]:
    """Return the columns that change when sold pieces leave; the last one ends the frag."""
    last = Q(pieces=pieces)
    return {
        "pieces": F("pieces") - pieces,
        "stage": Case(When(last, then=Value(Stage.SOLD.value)), default=F("stage")),
        "ended_on": Case(When(last, then=Value(when().day)), default=F("ended_on")),
    }


def coming_back(pieces: int) -> dict[str, Any]:
    """Return the columns that change when pieces come back alive; where they stand is not known."""
    gone = Q(pieces=0)
    return {
        "pieces": F("pieces") + pieces,
        "free": F("free") + pieces,
        "stage": Case(When(gone, then=Value(Stage.READY.value)), default=F("stage")),
        "ended_on": None,
        **{
            name: Case(When(gone, then=Value(None)), default=F(name))
            for name in ("rack", "hole_row", "hole_column")
        },
    }


def note_sale(frag_id: int, *, pieces: int, by: Person, hold: Claim | None, now: datetime) -> Claim:
    """Write a sale's claim and its event, and what hold it came from."""
    sale = Claim.objects.create(
        frag_id=frag_id,
        pieces=pieces,
        kind=ClaimKind.SALE.value,
        party=hold.party if hold else None,
        for_name=hold.for_name if hold else "",
        by=by,
        made_at=now,
    )
    body = {"claim": sale.pk, "pieces": pieces}
    if hold is not None:
        Claim.objects.filter(pk=hold.pk).update(turned_into=sale)
        body |= {"hold": hold.pk, "held": hold.pieces}
    note(frag_id, Kind.SOLD, by=by, body=body)
    return sale


def end_run_out(frag_id: int, *, now: datetime) -> None:
    """End the holds on a frag that have run out, so that their pieces are free.

    Queries: 1, and where any has run out 1 more, and 4 for each.
    """
    run_out = Claim.objects.filter(frag=frag_id, ended_at__isnull=True, until__lte=now)
    if not run_out.exists():
        return
    for claim in run_out.select_related("by").order_by("pk"):
        end_claim(claim, how="ran out", by=claim.by, now=now)


def end_claim(claim: Claim, *, how: str, by: Person, now: datetime) -> bool:
    """End a hold once, and give its pieces back to the frag.

    Returns: False where somebody else ended it first, or made it smaller.
    """
    as_read = Claim.objects.filter(pk=claim.pk, pieces=claim.pieces, ended_at__isnull=True)
    ended = as_read.update(ended_at=now, ended_how=how)
    if not ended:
        return False
    Frag.objects.filter(pk=claim.frag_id).update(
        free=F("free") + claim.pieces, last_seq=F("last_seq") + 1
    )
    body = {"claim": claim.pk, "pieces": claim.pieces, "how": how}
    note(claim.frag_id, Kind.LET_GO, by=by, body=body)
    return True


def give_way(frag_id: int, *, pieces: int, by: Person) -> list[tuple[str, int]]:
    """Take pieces that died out of the holds on a frag; they are free, to be written off.

    Those with a clock give way before paid ones, a walk before days, the latest first.
    Returns: who had how many of them.
    Queries: 1, and 4 for each hold.
    """
    now = clock.now()
    told: list[tuple[str, int]] = []
    holds = sorted(open_holds([frag_id]), key=lambda one: (GIVING_WAY.index(one.kind), -one.pk))
    for hold in holds:
        dead = min(pieces - sum(count for _, count in told), hold.pieces)
        if dead == hold.pieces:
            gone = end_claim(hold, how=DIED, by=by, now=now)
        else:
            gone = dead > 0 and make_smaller(hold, pieces=dead, by=by)
        if gone:
            told.append((hold.holder, dead))
    return told


def make_smaller(hold: Claim, *, pieces: int, by: Person) -> bool:
    """Take some pieces that died out of a hold, which goes on with the others.

    Returns: False where somebody else changed it first.
    """
    same = Claim.objects.filter(pk=hold.pk, ended_at__isnull=True, pieces=hold.pieces)
    if not same.update(pieces=F("pieces") - pieces):
        return False
    rows = Frag.objects.filter(pk=hold.frag_id)
    rows.update(free=F("free") + pieces, last_seq=F("last_seq") + 1)
    body = {"claim": hold.pk, "pieces": pieces, "how": DIED}
    note(hold.frag_id, Kind.LET_GO, by=by, body=body)
    return True


def say_why_not(frag_id: int, *, pieces: int) -> NoReturn:
    """Say why pieces cannot be taken: what is wrong with the frag, or who has them.

    Raises: NotFound, Conflict or InputError, always one of them.
    """
    (frag,) = frags_with([frag_id])
    code = show_code(frag.code_id)
    reason = not_for_sale(frag)
    if reason:
        raise Conflict(f"{code} is not for sale: {reason}.", code=frag.code_id)
    if pieces > frag.pieces:
        raise InputError(f"{code} has {frag.pieces} living pieces, not {pieces}.")
    holders = [Holder(claim.holder, claim.pieces, claim.until) for claim in open_holds([frag_id])]
    raise Conflict(
        f"{code} has {frag.free} free of {frag.pieces}: "
        f"{say_holders(holders, zone=organisation().zone)}.",
        code=frag.code_id,
        free=frag.free,
    )
