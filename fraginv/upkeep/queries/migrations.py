"""Which migrations the code knows, and which the database has."""

from collections.abc import Iterable

from django.db import connection
from django.db.migrations.loader import MigrationLoader

from fraginv.base.models import Organisation, Person
from fraginv.upkeep.rules.archive import Migration


def unknown_migrations(applied: Iterable[Migration]) -> list[Migration]:
    """Return the migrations, of those applied to a database, that the code does not know."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    known = set(loader.disk_migrations)
    for migration in loader.disk_migrations.values():
        known |= set(migration.replaces)
    return sorted(set(applied) - known)


def pending_migrations() -> list[Migration]:
    """Return the migrations of the code that the database does not have yet.

    Queries: 2.
    """
    loader = MigrationLoader(connection, ignore_no_migrations=True)
    return sorted(set(loader.graph.nodes) - set(loader.applied_migrations))


def applied_migrations() -> list[Migration]:
    """Return the migrations that were applied to the database; none for an empty one.

    Queries: 2.
    """
    return sorted(MigrationLoader(connection, ignore_no_migrations=True).applied_migrations)


def has_records() -> bool:
    """Tell whether somebody began to keep records in the database, whatever its version.

    Queries: at most 3.
    """
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
        for model in (Organisation, Person):
            table = model._meta.db_table
            if table in tables:
                cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(table)} LIMIT 1")  # noqa: S608
                if cursor.fetchone():
                    return True
    return False
