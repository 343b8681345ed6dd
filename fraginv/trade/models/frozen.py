"""Papers that are written once."""

from typing import Any, NoReturn, TypeVar

from django.db import models

from fraginv.base.errors import Conflict

M = TypeVar("M", bound=models.Model)

FROZEN = "A paper that is posted stays as it is. Write another one that reverses it."


class FrozenQuerySet(models.QuerySet[M]):
    """Refuse to change or delete papers in bulk."""

    def update(self, **kwargs: Any) -> NoReturn:
        """Refuse."""
        raise Conflict(FROZEN)

    def delete(self) -> NoReturn:
        """Refuse."""
        raise Conflict(FROZEN)


FrozenManager = models.Manager.from_queryset(FrozenQuerySet)


class Frozen(models.Model):
    """A row of a paper: inserted once, never changed, never deleted."""

    objects = FrozenManager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert the row; refuse to write it a second time."""
        if not self._state.adding:
            raise Conflict(FROZEN)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuse."""
        raise Conflict(FROZEN)
