"""Tasks that tests of waiting work let workers do."""

import time

from fraginv.base.errors import InputError
from fraginv.base.models import Party
from fraginv.base.tasks import later


@later(title="Write a party down", tries=3)
def write_party(name: str) -> None:
    """Leave something that can be seen from outside."""
    Party.objects.create(name=name)


@later(title="Fail in words", tries=2)
def fail_in_words() -> None:
    """Fail as an action does."""
    raise InputError("There is no paper in the tray. Put some in.")


@later(title="Fail", tries=1)
def fail() -> None:
    """Fail as nobody expected."""
    raise KeyError("Ida Byrne, 555-0100")


@later(title="Write a party down slowly", tries=3)
def write_slowly(name: str) -> None:
    """Take two seconds before anything is written."""
    time.sleep(2)
    Party.objects.create(name=name)
