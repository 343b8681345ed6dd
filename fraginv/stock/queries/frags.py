"""Reading frags."""

from collections.abc import Iterable
from dataclasses import fields
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.models import Code, OldCode
from fraginv.base.queries.prepared import Prepared
from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Claim, Frag, FragEvent
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.stops import STOPPED, stops_of
from fraginv.stock.rules.happenings import FragState
from fraginv.stock.rules.stages import Stage, Standing, why_not_for_sale

STATE = [field.name for field in fields(FragState) if field.name != "rack"]


def state_of(frag: Frag) -> FragState:
    """Return a frag's row as the state that its events should add up to."""
    return FragState(rack=frag.rack_id, **{name: getattr(frag, name) for name in STATE})


def standing_of(frag: Frag) -> Standing:
    """Return what decides whether a frag that was read with ``stopped`` may be sold now.

    Queries: 1 unless the colony was fetched along.
    """
    return Standing(
        stage=frag.stage,
        apart=frag.apart,
        quarantined=frag.quarantined,
        kept_back=frag.kept_back,
        barred=bool(frag.colony is not None and frag.colony.barred_because),
        stopped=is_stopped(frag),
    )


def is_stopped(frag: Frag) -> bool:
    """Tell whether a stop-sale held for a frag at the moment at which it was read."""
    return bool(getattr(frag, "stopped"))  # noqa: B009 an annotation that the stubs do not know


def not_for_sale(frag: Frag) -> str:
    """Say why a frag that was read with ``stopped`` is not for sale, or nothing where it is.

    Queries: 1 where a stop-sale holds for it.
    """
    standing = standing_of(frag)
    reason = why_not_for_sale(standing)
    stop = stops_of(frag).first() if standing.stopped else None
    return reason if stop is None else f"{reason}: {stop.reason}, until {stop.ends_when}"


def frags_with(frag_ids: Iterable[int]) -> list[Frag]:
    """Return frags by their ids, in the order of the ids in which rows are locked.

    Raises: NotFound unless there is at least one and all are there.
    Queries: 1.
    """
    wanted = sorted(set(frag_ids))
    rows: Iterable[Frag] = (
        Frag.objects.select_related("variety__genus", "colony", "rack__trough")
        .annotate(stopped=STOPPED)
        .filter(pk__in=wanted)
        .order_by("pk")
    )
    found = list(rows)
    if not found or len(found) != len(wanted):
        raise NotFound("Choose at least one frag." if not wanted else "A frag is not there.")
    return found


def frags_carrying(codes: Iterable[str]) -> list[Frag]:
    """Return the frags that carry codes, or did before they were relabelled, by their ids.

    Raises: NotFound naming the codes that are not frags, or where there is none.
    Queries: 1; and 1 for each code that no frag has, and 1 more where any has become another.
    """
    wanted = set(codes)
    found = carrying(wanted)
    missing = sorted(wanted - {frag.code_id for frag in found})
    if missing:
        now = {old: code_now(old) for old in missing}
        missing = [old for old in missing if not now[old]]
        found = carrying(wanted | set(now.values()))
    if missing:
        raise NotFound(f"Not frags: {', '.join(map(show_code, missing))}.", codes=missing)
    if not found:
        raise NotFound("Choose at least one frag.")
    return found


def carrying(codes: Iterable[str]) -> list[Frag]:
    """Return the frags that carry some of the codes, in the order of their ids.

    Queries: 1.
    """
    found: Iterable[Frag] = (
        Frag.objects.select_related("variety__genus", "colony")
        .annotate(stopped=STOPPED)
        .filter(code_id__in=codes)
        .order_by("pk")
    )
    return list(found)


def asked_by_code(code: str, at: datetime) -> QuerySet[Frag]:
    """Return the question for a frag by its code, with all that its page names."""
    along = ("code", "variety__genus", "colony", "cutting", "rack__trough__system")
    found = Frag.objects.select_related(*along).filter(code_id=code)
    return found.annotate(free_now=free_now(at=at), stopped=STOPPED)


BY_CODE: Prepared[Frag] = Prepared(asked_by_code, str, datetime)


def find_frag(code: str) -> Frag | None:
    """Return the frag or lot that carries a code, with ``free_now``, or None.

    Queries: 1.
    """
    return BY_CODE.first(code, clock.now())


def frag_by_code(code: str) -> Frag:
    """Return the frag or lot that carries a code, or carried it before it was relabelled.

    Raises: NotFound.
    Queries: 1, and 2 more for a code that no frag has.
    """
    found = find_frag(code)
    if found is None:
        now = code_now(code)
        found = find_frag(now) if now else None
    if found is None:
        raise NotFound(f"{show_code(code)} is not a frag.", code=code)
    return found


def code_now(code: str) -> str:
    """Return the code that a frag has which was relabelled, by the one it had; else nothing.

    Queries: 1.
    """
    known = OldCode.objects.filter(folded=code, code__kind=Code.Kind.FRAG).order_by("-pk")
    return known.values_list("code_id", flat=True).first() or ""


def ran_out(at: datetime) -> Subquery:
    """Return a subquery: pieces of a frag whose hold has run out without being ended yet."""
    return Subquery(
        Claim.objects.filter(frag=OuterRef("pk"), ended_at__isnull=True, until__lte=at)
        .order_by()
        .values("frag")
        .annotate(total=Sum("pieces"))
        .values("total"),
        output_field=IntegerField(),
    )


def free_now(*, at: datetime | None = None) -> Combinable:
    """Return the expression for a frag's pieces that nobody has at a moment, now unless given."""
    return F("free") + Coalesce(ran_out(at or clock.now()), 0)


def free_pieces(frag: Frag) -> int:
    """Return the pieces that nobody has at the moment at which a frag was read."""
    return int(getattr(frag, "free_now"))  # noqa: B009 an annotation that the stubs do not know


def living_of(owner: str) -> Combinable:
    """Return the expression for how many living frags a colony, cutting or rack has.

    It looks at the living ones alone, however many there were before.
    Args: ``owner`` names the column of a frag that points at it.
    """
    frags = Frag.objects.filter(LIVES, **{owner: OuterRef("pk")}).order_by()
    counted = frags.values(owner).annotate(living=Count("pk")).values("living")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def living_pieces_of(owner: str) -> Combinable:
    """Return the expression for how many living pieces a rack has; as ``living_of``."""
    frags = Frag.objects.filter(LIVES, **{owner: OuterRef("pk")}).order_by()
    summed = frags.values(owner).annotate(total=Sum("pieces")).values("total")
    return Coalesce(Subquery(summed, output_field=IntegerField()), 0)


def for_sale() -> Q:
    """Return the condition that a frag may be sold, whoever has its pieces."""
    return (
        Q(Q(colony__isnull=True) | Q(colony__barred_because=""))
        & Q(stage=Stage.READY.value, apart=False, quarantined=False, kept_back=False)
        & ~Q(STOPPED)
    )


def saleable_frags() -> QuerySet[Frag]:
    """Return frags that are for sale now, with ``free_now`` of at least 1.

    Queries: none until it is read, then 1.
    """
    return (
        Frag.objects.select_related("variety__genus", "colony")
        .filter(for_sale())
        .annotate(free_now=free_now(), stopped=STOPPED)
        .filter(free_now__gte=1)
    )


class Logged(NamedTuple):
    """One thing that happened to a frag, and who did it."""

    kind: str
    body: dict[str, Any]
    at: datetime
    by: str


def asked_log(frag_id: int) -> QuerySet[Any, Any]:
    """Return the question for what happened to a frag, the latest first."""
    events = FragEvent.objects.filter(frag_id=frag_id).order_by("-seq")
    return events.values_list("kind", "body", "at", "by__name")


LOG: Prepared[tuple[str, dict[str, Any], datetime, str]] = Prepared(asked_log, int)


def log_of(frag: Frag) -> list[Logged]:
    """Return what happened to a frag, the latest first, with who did it.

    Queries: 1.
    """
    return [Logged(*row) for row in LOG.answer(frag.pk)]


CLAIMS: Prepared[Claim] = Prepared(
    lambda frag_id: (
        Claim.objects.select_related("party__customer", "by").filter(frag_id=frag_id).order_by("pk")
    ),
    int,
)


def claims_on(frag: Frag) -> list[Claim]:
    """Return all claims that there ever were on a frag, oldest first, with party and customer.

    Queries: 1.
    """
    return CLAIMS.answer(frag.pk)


def is_open_hold(claim: Claim, *, at: datetime) -> bool:
    """Tell whether a claim is a hold that is alive at a moment."""
    is_hold = claim.ended_at is None and claim.kind != "sale"
    return is_hold and (claim.until is None or claim.until > at)


def open_holds(frag_ids: Iterable[int]) -> QuerySet[Claim]:
    """Return the holds on frags that are alive at this moment, oldest first.

    Queries: none until it is read, then 1.
    """
    return (
        Claim.objects.select_related("party", "by", "frag__variety")
        .filter(frag__in=list(frag_ids), ended_at__isnull=True)
        .exclude(kind="sale")
        .filter(Q(until__isnull=True) | Q(until__gt=clock.now()))
        .order_by("pk")
    )
