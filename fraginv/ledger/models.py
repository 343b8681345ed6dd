"""Accounts, entries, lines and the head of the chain."""

from typing import Any, ClassVar, NoReturn, Self, TypeVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fraginv.base.errors import Conflict
from fraginv.ledger.rules import FIRST_HASH, AccountKind, Part, entry_label

POSTED = "What is posted stays as it is. Post another entry that reverses it."


M = TypeVar("M", bound=models.Model)


class PostedQuerySet(models.QuerySet[M]):
    """Refuse to change or delete posted rows in bulk."""

    def update(self, **kwargs: Any) -> NoReturn:
        """Refuse."""
        raise Conflict(POSTED)

    def delete(self) -> NoReturn:
        """Refuse."""
        raise Conflict(POSTED)


class PostedManager(models.Manager[M]):
    """Give querysets that refuse to change or delete."""

    def get_queryset(self) -> PostedQuerySet[M]:
        """Return all rows."""
        return PostedQuerySet(self.model, using=self._db)


class Posted(models.Model):
    """A row that is written once: never changed, never deleted."""

    objects: ClassVar[PostedManager[Self]] = PostedManager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert the row; refuse to write it a second time."""
        if not self._state.adding:
            raise Conflict(POSTED)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuse."""
        raise Conflict(POSTED)


class Account(models.Model):
    """An account of the ledger; its code is what lines and hashes hold."""

    code = models.CharField(primary_key=True, max_length=8)
    name = models.CharField(max_length=80)
    kind = models.CharField(
        max_length=9, choices=[(kind.value, kind.value) for kind in AccountKind]
    )
    part = models.CharField(
        max_length=8, blank=True, choices=[(part.value, part.value) for part in Part]
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in AccountKind]),
                name="account_kind_known",
            ),
            models.CheckConstraint(
                condition=Q(part__in=[part.value for part in Part]), name="account_part_known"
            ),
            models.UniqueConstraint(
                fields=["part", "name"], condition=~Q(part=""), name="account_once_per_part"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class ChainHead(models.Model):
    """The one row that says where the chain of entries ends; its lock puts entries in line."""

    position = models.BigIntegerField(default=0)
    hash = models.CharField(max_length=64, default=FIRST_HASH)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="chain_has_one_head"),
            models.CheckConstraint(condition=Q(position__gte=0), name="chain_head_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.position} {self.hash[:12]}"


class Entry(Posted):
    """One balanced double entry, posted for one paper and chained to the entry before it."""

    position = models.BigIntegerField(unique=True)
    year = models.PositiveSmallIntegerField()
    number = models.PositiveIntegerField()
    day = models.DateField()
    month = models.PositiveIntegerField()
    source = models.CharField(max_length=20)
    paper = models.CharField(max_length=40)
    memo = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    previous_hash = models.CharField(max_length=64, unique=True)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["position"]
        verbose_name_plural = "entries"
        constraints = [
            models.UniqueConstraint(fields=["year", "number"], name="entry_number_once_a_year"),
            models.CheckConstraint(condition=Q(number__gte=1), name="entry_number_from_one"),
            models.CheckConstraint(condition=Q(position__gte=1), name="entry_position_from_one"),
            models.CheckConstraint(
                condition=Q(month__gte=F("year") * 100 + 1, month__lte=F("year") * 100 + 12),
                name="entry_month_of_its_year",
            ),
            models.CheckConstraint(condition=~Q(source="") & ~Q(paper=""), name="entry_has_paper"),
            models.CheckConstraint(
                condition=~Q(hash=F("previous_hash")), name="entry_hash_is_its_own"
            ),
        ]
        indexes = [
            models.Index(fields=["source", "paper"], name="entry_by_paper"),
            models.Index(fields=["month", "position"], name="entry_by_month"),
            models.Index(fields=["day"], name="entry_by_day"),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """Show the entry's number with its year."""
        return entry_label(self.year, self.number)


class Line(Posted):
    """One posting of an entry: debit above zero, credit below; the month is its entry's."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="lines")
    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="lines")
    amount = models.BigIntegerField()
    month = models.PositiveIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(amount=0), name="line_amount_not_zero"),
        ]
        indexes = [
            models.Index(fields=["month", "account", "amount"], name="line_month_totals"),
        ]

    def __str__(self) -> str:
        return f"{self.account_id} {self.amount}"

    @property
    def debit(self) -> int | None:
        """Return the amount where it stands on the debit side."""
        return self.amount if self.amount > 0 else None

    @property
    def credit(self) -> int | None:
        """Return the amount, as a positive number, where it stands on the credit side."""
        return -self.amount if self.amount < 0 else None
