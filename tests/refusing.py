"""What an action that fails must leave: nothing."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction

from fraginv.base.errors import FraginvError


@contextmanager
def refused(said: str, *, error: type[FraginvError] = FraginvError) -> Iterator[None]:
    """Expect an error that says something, and take back what was written before it came.

    An action inside a test joins the test's own transaction, so it cannot roll
    back by itself; here it has a savepoint as it would have a transaction.
    """
    with pytest.raises(error, match=said), transaction.atomic():
        yield
