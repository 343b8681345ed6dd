"""What tests of backups share: a PostgreSQL server, whichever engine is under test."""

from collections.abc import Iterator

import pytest

from tests.empty import running_server, server_url


@pytest.fixture(scope="session")
def any_server(django_db_setup: None) -> Iterator[str]:
    """The address of a server, without a database: the run's own, or one for this session."""
    from django.db import connection

    if connection.vendor == "postgresql":
        yield server_url()
    else:
        with running_server() as url:
            yield url
