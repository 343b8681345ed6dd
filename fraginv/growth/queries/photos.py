"""Reading photos."""

from collections.abc import Iterable, Iterator
from typing import Any, Final

from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, Value, When, Window
from django.db.models.functions import Coalesce, RowNumber

from fraginv.base.errors import NotFound
from fraginv.base.models import Code, Person
from fraginv.base.queries.codes import get_code
from fraginv.base.queries.files import damaged_names, missing_names
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.queries.prepared import Prepared
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.roles import Right
from fraginv.growth.models import Measurement, Photo
from fraginv.growth.rules.camera import Scale
from fraginv.stock.models import Colony, Frag, FragEvent, Rack, Variety
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.frags import frag_by_code
from fraginv.stock.rules.colonies import State
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stages import Stage

Subject = Frag | Colony | Variety | Rack
SHOWN: Final = 6
PAGE: Final = 24

# What is set apart or in quarantine may be sick, and a dead frag is no sight for visitors.
FOR_VISITORS = (
    Q(variety__isnull=False)
    | Q(colony__barred_because="", colony__state=State.LIVING)
    | Q(frag__isnull=False, frag__apart=False, frag__quarantined=False)
    & ~Q(frag__stage=Stage.LOST.value)
)

# Who buys wants to see the coral: what was taken to be measured is mostly card.
ON_CARD = Exists(Measurement.objects.filter(photo=OuterRef("pk"), scale=Scale.CARD.value))


def subject_field(subject: Subject) -> str:
    """Return the name of the column in which a photo names what it shows."""
    return type(subject).__name__.lower()


def photo_subject(code: str) -> Frag | Colony:
    """Return what a photo taken of a label's owner shows.

    Args: ``code`` as ``read_code`` returns it.
    Raises: NotFound where the code is neither a frag's nor a colony's.
    Queries: 2.
    """
    kind = get_code(code).kind
    if kind == Code.Kind.FRAG:
        return frag_by_code(code)
    if kind == Code.Kind.COLONY:
        return colony_by_code(code)
    raise NotFound(
        f"{show_code(code)} is neither a frag nor a colony, so it has no photos.", code=code
    )


OF_FRAG: Prepared[Photo] = Prepared(
    lambda frag_id: Photo.objects.select_related("file").filter(frag_id=frag_id)[:SHOWN], int
)
OF_FRAG_FOR_VISITORS: Prepared[Photo] = Prepared(
    lambda frag_id: Photo.objects.select_related("file").filter(
        ~ON_CARD, FOR_VISITORS, frag_id=frag_id
    )[:1],
    int,
)


def latest_photos_of(frag: Frag) -> list[Photo]:
    """Return the latest photos of a frag, the last one first.

    Queries: 1.
    """
    return OF_FRAG.answer(frag.pk)


def photo_for_visitors(frag: Frag) -> Photo | None:
    """Return the latest photo of a frag that a visitor may see, else the variety's.

    What was taken on the measuring card is left out.
    Queries: 1, and 1 more where the frag has none.
    """
    return OF_FRAG_FOR_VISITORS.first(frag.pk) or photo_for_variety(frag.variety)


def photos_of(subject: Subject) -> QuerySet[Photo]:
    """Return the photos of a frag, a colony, a rack or a variety as such, the latest first.

    Queries: none until it is read, then 1.
    """
    return Photo.objects.select_related("file", "by").filter(**{subject_field(subject): subject})


def photos_by_pages(subject: Subject, *, after: int | None = None) -> Portion[Photo]:
    """Return a page of the photos of something, the latest first.

    Raises: NotFound for a page that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    return portion_of(photos_of(subject), order=["-taken_at", "-pk"], size=PAGE, after=after)


def is_filed_under(subject: Subject, *, sha256: str) -> bool:
    """Tell whether the picture with a hash is a photo of something already.

    Queries: 1.
    """
    return photos_of(subject).filter(file__sha256=sha256).exists()


def photos_for_visitors(subject: Subject) -> QuerySet[Photo]:
    """Return those photos of a frag, colony or variety that a visitor may see.

    Queries: none until it is read, then 1.
    """
    return photos_of(subject).filter(FOR_VISITORS)


def latest_photos(frag_ids: Iterable[int]) -> dict[int, Photo]:
    """Return the latest photo of each frag that has one, by the frag's id.

    What was taken on the measuring card is left out.
    Queries: 1.
    """
    place = Window(
        RowNumber(), partition_by=F("frag"), order_by=[F("taken_at").desc(), F("pk").desc()]
    )
    found = (
        Photo.objects.select_related("file")
        .filter(~ON_CARD, frag__in=list(frag_ids))
        .annotate(place=place)
        .filter(place=1)
    )
    return {photo.frag_id: photo for photo in found if photo.frag_id is not None}


def photos_for_varieties(variety_ids: Iterable[int]) -> dict[int, Photo]:
    """Return the picture that stands for each variety that has one, by the variety's id.

    The variety's own comes first, then one of a living colony, then one of a
    frag; of each the latest, and last what was taken on the measuring card. Only what a
    visitor may see is taken.
    Queries: 1.
    """
    return {photo.shown: photo for photo in asked_for_varieties(*variety_ids)}


def asked_for_varieties(*ids: int) -> QuerySet[Any, Any]:
    """Return the question for the pictures that stand for varieties."""
    shown = Coalesce("variety", "colony__variety", "frag__variety")
    nearness = Case(
        When(variety__isnull=False, then=Value(0)),
        When(colony__isnull=False, then=Value(1)),
        default=Value(2),
    )
    place = Window(
        RowNumber(),
        partition_by=shown,
        order_by=[nearness.asc(), ON_CARD.asc(), F("taken_at").desc(), F("pk").desc()],
    )
    wanted = Q(variety__in=ids) | Q(colony__variety__in=ids) | Q(frag__variety__in=ids)
    return (
        Photo.objects.select_related("file")
        .filter(wanted, FOR_VISITORS)
        .annotate(shown=shown, place=place)
        .filter(place=1)
    )


FOR_VARIETY: Prepared[Photo] = Prepared(asked_for_varieties, int)


def photo_for_variety(variety: Variety) -> Photo | None:
    """Return the picture that stands for a variety, as ``photos_for_varieties`` chooses it.

    Queries: 1.
    """
    return FOR_VARIETY.first(variety.pk)


def get_photo_for(person: Person | None, *, photo_id: int, mark: str) -> Photo:
    """Return a photo by its address to somebody who may see it; None is a visitor.

    Raises: NotFound where there is none, or it is not for this person's eyes.
    Queries: 1.
    """
    rows = Photo.objects.select_related("file")
    if person is None or not person.can(Right.SEE_STOCK):
        rows = rows.filter(FOR_VISITORS)
    found = rows.filter(pk=photo_id).first()
    if found is None or found.mark != mark:
        raise NotFound("There is no such picture. Open the page again that led here.")
    return found


def is_for_visitors(photo: Photo) -> bool:
    """Tell whether anybody may see a photo.

    Queries: 1.
    """
    return Photo.objects.filter(FOR_VISITORS, pk=photo.pk).exists()


def photo_differences() -> Iterator[Difference]:
    """Yield each photo whose files are not what was kept, and logs that name no such photo.

    Queries: 3, read in portions; and the storage reads each original once.
    """
    photos = Photo.every.select_related("file", "variety", "colony", "frag", "rack__trough")
    photos = photos.order_by("pk")
    for photo in photos.iterator(chunk_size=2000):
        where = f"photo {photo.pk} of {described_subject(photo)}"
        missing, damaged = list(missing_names(photo.file)), list(damaged_names(photo.file))
        if missing:
            yield Difference(where, f"missing in the storage: {', '.join(missing)}")
        if damaged:
            yield Difference(where, f"not as it was kept: {', '.join(damaged)}")
    yield from log_differences()


def log_differences() -> Iterator[Difference]:
    """Yield photos that a frag's log names and that are gone, and those it does not name.

    Whether each was taken out again must be the same in both.
    Queries: 2.
    """
    rows = Photo.every.filter(frag__isnull=False).order_by("pk")
    filed = {
        photo: (code, at is not None)
        for photo, code, at in rows.values_list("pk", "frag__code", "withdrawn_at")
    }
    logged = FragEvent.objects.filter(kind=Kind.PHOTOGRAPHED.value).order_by("frag", "seq")
    named: dict[int, bool] = {}
    for code, seq, body in logged.values_list("frag__code", "seq", "body").iterator():
        told = body if isinstance(body, dict) else {}
        photo = told.get("photo")
        number = photo if isinstance(photo, int) else 0
        named[number] = named.get(number, False) or told.get("out") is True
        if filed.get(number, ("",))[0] != code:
            what = f"event {seq} says that photo {photo} was taken, and it has no such photo"
            yield Difference(show_code(code), what)
    for photo, (code, is_out) in filed.items():
        if photo not in named:
            yield Difference(show_code(code), f"has photo {photo}, and its log does not say so")
        elif named[photo] != is_out:
            says = "was taken out" if is_out else "stands"
            what = f"photo {photo} {says}, and its log does not say so"
            yield Difference(show_code(code), what)


def described_subject(photo: Photo) -> str:
    """Name what a photo shows.

    Queries: none when its subject was fetched along.
    """
    if photo.frag is not None:
        return f"frag {show_code(photo.frag.code_id)}"
    if photo.colony is not None:
        return f"colony {show_code(photo.colony.code_id)}"
    if photo.rack is not None:
        return f"rack {photo.rack}"
    return f"variety {photo.variety}"
