"""The people who sign in."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.crypto import get_random_string, salted_hmac

from fraginv.base.rules.roles import Right, Role, can


def new_salt() -> str:
    """Return a salt that no session was made with."""
    return get_random_string(22)


class PersonManager(BaseUserManager["Person"]):
    """Make people with a hashed password."""

    def create_user(self, username: str, password: str, **fields: Any) -> "Person":
        """Make and save one person."""
        person = self.model(username=username.strip().lower(), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person


class Person(AbstractBaseUser):
    """One of the crew, or a reader for accountant and board.

    ``session_salt`` is part of what every visit is signed with: a new one ends
    all of the person's visits, wherever they are. ``since`` is when the person
    came; it is empty for who came before that was written down.
    """

    username = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    email = models.EmailField(blank=True)
    role = models.CharField(max_length=10, choices=[(role.value, role.value) for role in Role])
    is_active = models.BooleanField(default=True)
    session_salt = models.CharField(max_length=22, default=new_salt)
    since = models.DateTimeField(null=True, blank=True)

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name", "role"]

    objects = PersonManager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=[role.value for role in Role]), name="person_role_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def short_name(self) -> str:
        """Return the first word of the name."""
        return self.name.split(maxsplit=1)[0] if self.name.strip() else self.username

    def can(self, right: Right) -> bool:
        """Tell whether the person's role covers a right."""
        return self.is_active and can(Role(self.role), right)

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Return what a visit's signature is compared with; Django's, with the salt in it."""
        text = f"{self.password}{self.session_salt}"
        return salted_hmac("fraginv.visit", text, secret=secret, algorithm="sha256").hexdigest()
