"""Which files the database names, and where they lie."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.core.files.storage import Storage

from fraginv.base.models import StoredFile
from fraginv.base.queries.files import kept_names, storage_for
from fraginv.base.rules.documents import PDF
from fraginv.base.rules.pictures import SUFFIXES
from fraginv.growth.queries.intake import waiting_name, waiting_pictures


@dataclass(frozen=True)
class Named:
    """One file that the database names.

    Attributes: ``name`` in its storage, ``path`` in a backup, ``sha256`` of
    what it must hold, or empty where the database does not say; ``passing``
    where it goes by itself once it was dealt with.
    """

    name: str
    path: str
    private: bool
    sha256: str
    passing: bool = False

    @property
    def storage(self) -> Storage:
        """Return the storage that it lies in."""
        return storage_for(private=self.private)


COLUMNS = ("sha256", "kept_sha256", "media_type", "private", "has_print")


def named_files() -> Iterator[Named]:
    """Yield every file that the database names.

    Files are written once and never removed, and a row can be seen only when its
    files are there: asked after the database was copied, this names at least
    what the copy does; but for pictures that came in and were dealt with meanwhile.
    Queries: 2, read in portions.
    """
    for picture in waiting_pictures().iterator(1000):
        name = waiting_name(picture)
        yield Named(name, f"private/{name}", private=True, sha256=picture.sha256, passing=True)
    rows = StoredFile.objects.filter(media_type__in=[*SUFFIXES, PDF]).order_by("pk")
    for file in rows.only(*COLUMNS).iterator(1000):
        folder = "private" if file.private else "media"
        original, *renditions = kept_names(
            file.sha256, media_type=file.media_type, sizes=file.sizes
        )
        yield Named(original, f"{folder}/{original}", file.private, file.kept_sha256)
        for name in renditions:
            yield Named(name, f"{folder}/{name}", file.private, "")
