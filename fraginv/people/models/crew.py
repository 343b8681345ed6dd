"""What was done about the people, by whom and when."""

from django.conf import settings
from django.db import models

from fraginv.base.rules.roles import Role

ROLES = [(role.value, role.value) for role in Role]


class CrewEvent(models.Model):
    """One thing that was done about one person; written once.

    ``was`` and ``became`` are roles, where the event changed one. Names and
    addresses are not kept here, so that a person can be erased.
    """

    class Kind(models.TextChoices):
        JOINED = "joined"
        RENAMED = "renamed"
        ROLE = "role"
        ADDRESS = "address"
        LEFT = "left"
        BACK = "back"
        RESET = "reset"
        PASSWORD = "password"  # noqa: S105 a word, no secret
        ENDED = "ended"
        FACTOR = "factor"
        SECURED = "secured"
        CODES = "codes"
        RECOVERY = "recovery"
        PIN = "pin"
        MACHINE = "machine"

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    was = models.CharField(max_length=10, blank=True, choices=ROLES)
    became = models.CharField(max_length=10, blank=True, choices=ROLES)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind} {self.person_id}"
