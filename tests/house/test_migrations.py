"""Every change of a model has its migration."""

from django.apps import apps
from django.db import models
from django.db.migrations.autodetector import MigrationAutodetector
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState


def missing(models_now: ProjectState) -> list[str]:
    """Name the packages whose migrations lead elsewhere than to their models."""
    loader = MigrationLoader(None, ignore_no_migrations=True)
    detector = MigrationAutodetector(loader.project_state(), models_now.clone())
    return sorted(detector.changes(graph=loader.graph))


def test_no_migration_is_missing() -> None:
    assert missing(ProjectState.from_apps(apps)) == []


def test_a_planted_change_is_found() -> None:
    changed = ProjectState.from_apps(apps)
    before = missing(changed)
    changed.add_field("base", "party", "planted", models.TextField(default=""), False)
    assert "base" not in before
    assert missing(changed) == sorted([*before, "base"])
