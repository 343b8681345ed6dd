"""Upgrades: a backup before migrating, and no step back."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from pytest_django import Settings

from fraginv.base.errors import InputError
from fraginv.base.models import Organisation
from fraginv.base.version import version
from fraginv.upkeep.actions.upgrading import (
    back_up_before_migrating,
    bring_up_to_date,
    refuse_newer_database,
)
from fraginv.upkeep.models import Backup
from fraginv.upkeep.queries.migrations import pending_migrations, unknown_migrations
from fraginv.upkeep.rules.archive import BackupFailed
from tests.empty import PG_PROGRAMS
from tests.upkeep.archives import manifest_of, no_file_larger_than

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> Path:
    """Let backups go into a folder of this test's own."""
    place = tmp_path / "backups"
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, backups=place, pg_programs=PG_PROGRAMS)
    return place


@pytest.fixture
def behind(organisation: Organisation) -> Iterator[None]:
    """Let the database be one that had no upkeep yet, with records in it."""
    call_command("migrate", "upkeep", "zero", verbosity=0)
    yield
    call_command("migrate", verbosity=0)


def upkeep_tables() -> list[str]:
    with connection.cursor() as cursor:
        names = connection.introspection.table_names(cursor)
    return [name for name in names if name.startswith("upkeep_")]


@pytest.mark.usefixtures("behind")
def test_a_backup_is_made_before_migrating_and_written_down_after(folder: Path) -> None:
    assert ("upkeep", "0001_initial") in pending_migrations()
    made = bring_up_to_date()
    assert made is not None
    assert [made.file] == list(folder.iterdir())
    assert made.file.name.startswith(f"before-{version()}-")
    assert not any(app == "upkeep" for app, _ in manifest_of(made.file)["migrations"])
    assert manifest_of(made.file)["rows"]["base_organisation"] == 1
    assert pending_migrations() == []
    row = Backup.objects.get()
    assert (row.how, row.file, row.problem) == ("upgrade", str(made.file), "")
    assert bring_up_to_date() is None


@pytest.mark.usefixtures("behind")
def test_nothing_is_migrated_when_the_backup_fails(folder: Path) -> None:
    with no_file_larger_than(12_000), pytest.raises(BackupFailed):
        bring_up_to_date()
    assert list(folder.iterdir()) == []
    assert upkeep_tables() == []


def test_without_records_there_is_nothing_to_lose(folder: Path) -> None:
    call_command("migrate", "upkeep", "zero", verbosity=0)
    try:
        assert back_up_before_migrating() is None
    finally:
        call_command("migrate", verbosity=0)
    assert not folder.exists()


def test_a_newer_database_is_refused_and_left_alone(organisation: Organisation) -> None:
    refuse_newer_database()
    recorder = MigrationRecorder(connection)
    recorder.record_applied("planner", "0001_initial")
    recorder.record_applied("stock", "0099_later")
    try:
        with pytest.raises(InputError) as refused:
            bring_up_to_date()
    finally:
        recorder.record_unapplied("planner", "0001_initial")
        recorder.record_unapplied("stock", "0099_later")
    assert f"newer than this fraginv {version()}" in refused.value.message
    assert "planner 0001_initial, stock 0099_later" in refused.value.message
    assert Organisation.objects.count() == 1
    refuse_newer_database()


def test_migrations_that_the_code_has_are_known() -> None:
    known = list(MigrationRecorder(connection).applied_migrations())
    assert unknown_migrations(known) == []
    assert unknown_migrations([*known, ("base", "0000_none")]) == [("base", "0000_none")]


def test_a_folder_that_cannot_be_made(settings: Settings, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, backups=tmp_path / "file" / "backups")
    call_command("migrate", "upkeep", "zero", verbosity=0)
    try:
        Organisation.objects.create(
            name="Tidewater Hall", currency="USD", zone="America/New_York", label_host="REEF.TEST"
        )
        with pytest.raises(BackupFailed, match="cannot be made: Not a directory"):
            back_up_before_migrating()
    finally:
        call_command("migrate", verbosity=0)


def test_the_version_is_the_project_files_own() -> None:
    assert version().count(".") == 2
