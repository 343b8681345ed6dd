"""The tables as they were at some migrations, and their fields."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import models
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from fraginv.upkeep.rules.archive import Migration

Model = type[models.Model]


def last_of_each(migrations: Iterable[Migration]) -> list[Migration]:
    """Return the last migrations of each package, of those that were applied together."""
    loader, had = MigrationLoader(None, ignore_no_migrations=True), set(migrations)
    return sorted(
        node
        for node in had
        if not any(
            child.key[0] == node[0] and child.key in had
            for child in loader.graph.node_map[node].children
        )
    )


def models_at(targets: Sequence[Migration]) -> dict[str, Model]:
    """Return the models, by table, as they were when these migrations were the last ones.

    Fields that set themselves when a row is written keep what they are given.
    """
    apps = MigrationLoader(None, ignore_no_migrations=True).project_state(list(targets)).apps
    found: dict[str, Model] = {
        model._meta.db_table: model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
    }
    for model in found.values():
        for field in model._meta.local_fields:
            for word in ("auto_now", "auto_now_add"):
                if hasattr(field, word):
                    setattr(field, word, False)
    recorded = MigrationRecorder.Migration
    return {**found, recorded._meta.db_table: recorded}


def fields_by_column(model: Model) -> Mapping[str, "models.Field[Any, Any]"]:
    """Return a table's fields by column."""
    return {str(field.column): field for field in model._meta.local_concrete_fields}
