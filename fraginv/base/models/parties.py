"""Everybody outside the crew."""

from django.db import models


class Party(models.Model):
    """A shop, a visitor who wants to be known, a supplier, an owner of corals, a giver."""

    name = models.CharField(max_length=120)
    contact = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["name"])]
        verbose_name_plural = "parties"

    def __str__(self) -> str:
        return self.name
