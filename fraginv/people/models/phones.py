"""Phones that several people share, and who may take one over by PIN."""

from django.conf import settings
from django.db import models


class Phone(models.Model):
    """A browser in which somebody has signed in with a password; its cookie's hash is kept."""

    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    seen_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"phone {self.pk}"


class PhonePerson(models.Model):
    """One person who has signed in with a password on one phone.

    ``wrong`` counts wrong PINs there since the last right one or password.
    ``visit_hash`` is what the person's visits were signed with then: once
    password or ``session_salt`` are others, no PIN opens that phone until the
    next password.
    """

    phone = models.ForeignKey(Phone, on_delete=models.CASCADE, related_name="people")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    password_at = models.DateTimeField()
    visit_hash = models.CharField(max_length=64)
    wrong = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["phone", "person"], name="phone_knows_person_once"),
        ]

    def __str__(self) -> str:
        return f"{self.person_id} on {self.phone_id}"


class Pin(models.Model):
    """A person's short number for taking over a shared phone, kept hashed as a password is."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, primary_key=True, related_name="pin"
    )
    hashed = models.CharField(max_length=128)
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"PIN of {self.person_id}"
