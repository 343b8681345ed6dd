"""Files in an S3-compatible store, whose troubles are told as those of a disk are."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import ContentFile, File
from storages.backends.s3 import S3Storage

from fraginv.base.errors import StoreAway


@contextmanager
def told_as_a_disk() -> Iterator[None]:
    """Turn what the store's library raises into an error of files.

    Raises: StoreAway; FileNotFoundError goes through.
    """
    try:
        yield
    except (BotoCoreError, ClientError) as error:
        raise StoreAway(f"The store of files does not do what is asked: {error}") from error


class Store(S3Storage):  # type: ignore[misc] # the library has no types
    """A bucket; a file is read whole when it is opened, so that it cannot fail later."""

    def _open(self, name: str, mode: str = "rb") -> File[bytes]:
        with told_as_a_disk(), super()._open(name, mode) as opened:
            return ContentFile(opened.read(), name=name)

    def _save(self, name: str, content: Any) -> str:
        with told_as_a_disk():
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        """Remove a file; one that is not there is no error.

        Raises: StoreAway.
        """
        with told_as_a_disk():
            super().delete(name)

    def exists(self, name: str) -> bool:
        """Tell whether a file is there.

        Raises: StoreAway.
        """
        with told_as_a_disk():
            return bool(super().exists(name))

    def size(self, name: str) -> int:
        """Return how many bytes a file has.

        Raises: StoreAway, FileNotFoundError.
        """
        with told_as_a_disk():
            return int(super().size(name))

    def listdir(self, name: str) -> tuple[list[str], list[str]]:
        """Return the folders and files below a name.

        Raises: StoreAway.
        """
        with told_as_a_disk():
            folders, files = super().listdir(name)
            return list(folders), list(files)
