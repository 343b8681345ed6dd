"""What the pages of pictures that came in show."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.db.models import Count, Q, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.codes import address_path
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.growth.rules import strays
from fraginv.growth.rules.intake import State

PAGE: Final = 40
BATCHES: Final = 10
MOST_COUNTED: Final = 500
# Parts that were taken out again are none.
CUT: Final = Count("parts", filter=Q(parts__withdrawn_at__isnull=True))
TWICE: Final = Count("pk", filter=Q(said__contains=strays.TWICE))


@dataclass(frozen=True)
class Filed:
    """One thing under which a picture was filed: its name, its code and its page."""

    name: str
    code: str
    url: str
    parts: int = 0
    is_rack: bool = False


@dataclass(frozen=True)
class Shown:
    """A picture that came in, as a list shows it, with what it was filed under."""

    incoming: Incoming
    filed: Sequence[Filed] = ()

    @property
    def mark(self) -> str:
        """Return the part of its hash that stands in its address; nothing where it has no file."""
        file = self.incoming.file
        return file.sha256[:16] if file is not None else ""

    @property
    def can_come_back(self) -> bool:
        """Tell whether it was thrown away by hand."""
        one = self.incoming
        return one.state == State.DISCARDED.value and one.settled_by_id is not None


@dataclass(frozen=True)
class Sums:
    """How many pictures of a batch stand where, and how many of them were sent twice."""

    of_state: Mapping[str, int]
    twice: int = 0

    @property
    def all(self) -> int:
        """Return how many there are."""
        return sum(self.of_state.values())

    @property
    def waiting(self) -> int:
        """Return how many wait to be read."""
        return self.of_state.get(State.WAITING.value, 0)

    @property
    def done(self) -> int:
        """Return how many are settled or lie in the tray."""
        return self.all - self.waiting

    @property
    def filed(self) -> int:
        """Return how many are filed."""
        return self.of_state.get(State.FILED.value, 0)

    @property
    def tray(self) -> int:
        """Return how many lie in the tray."""
        return self.of_state.get(State.TRAY.value, 0)

    @property
    def refused(self) -> int:
        """Return how many were refused."""
        return self.of_state.get(State.REFUSED.value, 0)


def pictures_of(batch: Batch, *, after: int | None) -> tuple[Portion[Incoming], list[Shown]]:
    """Return a page of a batch's pictures in the order in which they came.

    Raises: NotFound for a page that is not there.
    Queries: 2, 1 more from the second page on, and 1 where any is filed.
    """
    rows = Incoming.objects.filter(batch=batch).select_related("file")
    page = portion_of(rows, order=["pk"], size=PAGE, after=after)
    return page, shown(page.rows)


def shown(rows: Iterable[Incoming]) -> list[Shown]:
    """Return pictures with what they were filed under.

    Queries: 1 or 2 where any is filed.
    """
    listed = list(rows)
    files = {one.file_id for one in listed if one.state == State.FILED.value}
    under: dict[int, list[Filed]] = {}
    for photo in whole_photos(files) if files else ():
        under.setdefault(photo.file_id, []).append(filed_as(photo))
    return [Shown(one, under.get(one.file_id or 0, ())) for one in listed]


def whole_photos(file_ids: Iterable[int | None]) -> QuerySet[Photo]:
    """Return the photos that show files whole, with what they show and how many parts they have.

    Queries: none until it is read, then 1.
    """
    rows = Photo.objects.filter(file__in=list(file_ids), part_of__isnull=True)
    along = ("frag__variety", "colony__variety", "rack__trough", "variety")
    return rows.select_related(*along).annotate(cut=CUT).order_by("pk")


def filed_as(photo: Photo) -> Filed:
    """Return what a photo shows, read by ``whole_photos``."""
    thing = photo.frag or photo.colony
    if thing is not None:
        return Filed(thing.variety.name, thing.code_id, address_path(thing.code_id))
    if photo.rack is not None:
        cut = int(getattr(photo, "cut"))  # noqa: B009 an annotation that the stubs do not know
        code = photo.rack.code_id
        return Filed(str(photo.rack), code, address_path(code), parts=cut, is_rack=True)
    return Filed(str(photo.variety), "", "")


def sums_of(batch: Batch) -> Sums:
    """Return how many pictures of a batch stand where, and how many were sent twice.

    Queries: 1.
    """
    rows = batch.pictures.order_by().values("state")
    counted = rows.annotate(count=Count("pk"), twice=TWICE).values_list("state", "count", "twice")
    found = list(counted)
    return Sums({state: count for state, count, _ in found}, sum(twice for *_, twice in found))


def tray(*, after: int | None) -> Portion[Incoming]:
    """Return a page of the tray, the latest first, with batch and file.

    Raises: NotFound for a page that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    rows = in_tray().select_related("file", "batch__by")
    return portion_of(rows, order=["-pk"], size=PAGE, after=after)


def in_tray() -> QuerySet[Incoming]:
    """Return the pictures that a person must file.

    Queries: none until it is read, then 1.
    """
    return Incoming.objects.filter(state=State.TRAY.value)


def count_in_tray() -> int:
    """Return how many pictures lie in the tray, at most a few hundred.

    Queries: 1.
    """
    return in_tray().order_by()[:MOST_COUNTED].count()


def next_in_tray(incoming: Incoming) -> Incoming | None:
    """Return the picture that is filed next: the one before, then the latest; None at the end.

    Queries: 1 or 2.
    """
    rest = in_tray().exclude(pk=incoming.pk).order_by("-pk")
    return rest.filter(pk__lt=incoming.pk).first() or rest.first()


def get_incoming(incoming_id: int) -> Incoming:
    """Return a picture that came in, with its batch and file.

    Raises: NotFound.
    Queries: 1.
    """
    rows = Incoming.objects.select_related("file", "batch__by", "batch__rack__trough")
    found = rows.filter(pk=incoming_id).first()
    if found is None:
        raise NotFound("There is no such picture.")
    return found


def latest_batches(*, after: int | None) -> tuple[Portion[Batch], dict[int, Sums]]:
    """Return a page of what came in, the latest first, with who sent it, and its sums by its id.

    Raises: NotFound for a page that is not there.
    Queries: 2, and 1 more from the second page on.
    """
    rows = Batch.objects.select_related("by", "rack__trough")
    page = portion_of(rows, order=["-pk"], size=BATCHES, after=after)
    counted = Incoming.objects.filter(batch__in=page.rows).order_by().values("batch", "state")
    sums: dict[int, dict[str, int]] = {batch.pk: {} for batch in page.rows}
    for batch, state, count in counted.annotate(count=Count("pk")).values_list(
        "batch", "state", "count"
    ):
        sums[batch][state] = count
    return page, {pk: Sums(of_state) for pk, of_state in sums.items()}
