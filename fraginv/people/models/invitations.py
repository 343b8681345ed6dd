"""Links that let somebody in for the first time, or set a new password."""

from django.conf import settings
from django.db import models

from fraginv.base.rules.roles import Role


class Invitation(models.Model):
    """A link handed to one person, good once and until a moment.

    Only the hash of its token is kept. An ``invite`` makes a person of that
    name and role when it is used; a ``reset`` sets a new password for ``person``.
    """

    class Kind(models.TextChoices):
        INVITE = "invite"
        RESET = "reset"

    kind = models.CharField(max_length=6, choices=Kind.choices)
    token_hash = models.CharField(max_length=64, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=10, choices=[(role.value, role.value) for role in Role])
    email = models.EmailField(blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["invite", "reset"]), name="invitation_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(role__in=[role.value for role in Role]),
                name="invitation_role_known",
            ),
            models.CheckConstraint(
                condition=models.Q(kind="invite") | models.Q(person__isnull=False),
                name="invitation_reset_has_person",
            ),
        ]
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind} for {self.name}"
