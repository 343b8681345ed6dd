"""Reading frags."""

from collections.abc import Iterable
from dataclasses import fields

from django.db.models import Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Claim, Frag, FragEvent
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.events import FragState
from fraginv.stock.rules.stages import Stage, Standing, why_not_for_sale

STATE = [field.name for field in fields(FragState) if field.name != "rack"]


def state_of(frag: Frag) -> FragState:
    """Return a frag's row as the state that its events should add up to."""
    return FragState(rack=frag.rack_id, **{name: getattr(frag, name) for name in STATE})


def standing_of(frag: Frag) -> Standing:
    """Return what decides whether a frag may be sold now.

    Queries: 1 unless the colony was fetched along.
    """
    return Standing(
        stage=frag.stage,
        apart=frag.apart,
        quarantined=frag.quarantined,
        kept_back=frag.kept_back,
        barred=bool(frag.colony is not None and frag.colony.barred_because),
    )


def not_for_sale(frag: Frag) -> str:
    """Say why a frag is not for sale, or nothing where it is."""
    return why_not_for_sale(standing_of(frag))


def frags_with(frag_ids: Iterable[int]) -> list[Frag]:
    """Return frags by their ids, in the order of the ids in which rows are locked.

    Raises: NotFound unless there is at least one and all are there.
    Queries: 1.
    """
    wanted = sorted(set(frag_ids))
    found = list(
        Frag.objects.select_related("variety__genus", "colony").filter(pk__in=wanted).order_by("pk")
    )
    if not found or len(found) != len(wanted):
        raise NotFound("Choose at least one frag." if not wanted else "A frag is not there.")
    return found


def frags_carrying(codes: Iterable[str]) -> list[Frag]:
    """Return the frags that carry codes, in the order of their ids.

    Raises: NotFound naming the codes that are not frags, or where there is none.
    Queries: 1.
    """
    wanted = set(codes)
    found = list(
        Frag.objects.select_related("variety__genus", "colony")
        .filter(code_id__in=wanted)
        .order_by("pk")
    )
    missing = sorted(wanted - {frag.code_id for frag in found})
    if missing:
        raise NotFound(f"Not frags: {', '.join(map(show_code, missing))}.", codes=missing)
    if not found:
        raise NotFound("Choose at least one frag.")
    return found


def frag_by_code(code: str) -> Frag:
    """Return the frag or lot that carries a code.

    Raises: NotFound.
    Queries: 1.
    """
    found = (
        Frag.objects.select_related(
            "code", "variety__genus", "colony", "cutting", "rack__trough__system"
        )
        .filter(code_id=code)
        .first()
    )
    if found is None:
        raise NotFound(f"{show_code(code)} is not a frag.", code=code)
    return found


def ran_out() -> Subquery:
    """Return a subquery: pieces of a frag whose hold has run out without being ended yet."""
    return Subquery(
        Claim.objects.filter(frag=OuterRef("pk"), ended_at__isnull=True, until__lte=clock.now())
        .order_by()
        .values("frag")
        .annotate(total=Sum("pieces"))
        .values("total"),
        output_field=IntegerField(),
    )


def free_now() -> Combinable:
    """Return the expression for a frag's pieces that nobody has at this moment."""
    return F("free") + Coalesce(ran_out(), 0)


def living_of(owner: str) -> Combinable:
    """Return the expression for how many living frags a colony, cutting or rack has.

    It looks at the living ones alone, however many there were before.
    Args: ``owner`` names the column of a frag that points at it.
    """
    frags = Frag.objects.filter(LIVES, **{owner: OuterRef("pk")}).order_by()
    counted = frags.values(owner).annotate(living=Count("pk")).values("living")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def for_sale() -> Q:
    """Return the condition that a frag may be sold, whoever has its pieces."""
    return Q(Q(colony__isnull=True) | Q(colony__barred_because="")) & Q(
        stage=Stage.READY.value, apart=False, quarantined=False, kept_back=False
    )


def saleable_frags() -> QuerySet[Frag]:
    """Return frags that are for sale now, with ``free_now`` of at least 1.

    Queries: none until it is read, then 1.
    """
    return (
        Frag.objects.select_related("variety__genus", "colony")
        .filter(for_sale())
        .annotate(free_now=free_now())
        .filter(free_now__gte=1)
    )


def events_of(frag: Frag) -> QuerySet[FragEvent]:
    """Return what happened to a frag, the latest first, with who did it.

    Queries: none until it is read, then 1.
    """
    return frag.events.select_related("by").order_by("-seq")


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
