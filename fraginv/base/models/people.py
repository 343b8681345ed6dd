"""The people who sign in."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from fraginv.base.rules.roles import Right, Role, can


class PersonManager(BaseUserManager["Person"]):
    """Make people with a hashed password."""

    def create_user(self, username: str, password: str, **fields: Any) -> "Person":
        """Make and save one person."""
        person = self.model(username=username.strip().lower(), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person


class Person(AbstractBaseUser):
    """One of the crew, or a reader for accountant and board."""

    username = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=10, choices=[(role.value, role.value) for role in Role])
    is_active = models.BooleanField(default=True)

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

    def can(self, right: Right) -> bool:
        """Tell whether the person's role covers a right."""
        return self.is_active and can(Role(self.role), right)
