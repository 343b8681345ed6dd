"""Whose tool this is: one row."""

from typing import Any

from django.core.validators import MinLengthValidator
from django.db import models


class Organisation(models.Model):
    """The organisation that keeps the display; its currency, zone and words on papers."""

    class Paper(models.TextChoices):
        LETTER = "letter", "Letter"
        A4 = "a4", "A4"

    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    currency = models.CharField(max_length=3, validators=[MinLengthValidator(3)])
    zone = models.CharField(max_length=60)
    locale = models.CharField(max_length=20, default="en_US")
    paper = models.CharField(max_length=6, choices=Paper.choices, default=Paper.LETTER)
    label_host = models.CharField(max_length=60)
    is_demo = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="organisation_is_one"),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the one row at key 1."""
        self.pk = 1
        super().save(*args, **kwargs)
