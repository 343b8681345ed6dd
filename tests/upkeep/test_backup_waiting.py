"""Pictures that came in and wait to be read are in a backup, too."""

import uuid
from dataclasses import replace
from pathlib import Path

import pytest
from django.conf import settings as live_settings
from pytest_django import Settings

from fraginv.base.models import Person
from fraginv.base.queries.files import storage_for
from fraginv.growth.actions.intake import keep_incoming, open_batch, work_off
from fraginv.growth.models import Incoming
from fraginv.growth.queries.intake import waiting_name
from fraginv.upkeep.actions.backups import back_up
from fraginv.upkeep.actions.restoring import put_files
from fraginv.upkeep.queries.archives import manifest_in, opened
from tests.empty import PG_PROGRAMS
from tests.growth.labelled import labelled


@pytest.fixture(autouse=True)
def _home(settings: Settings, tmp_path: Path) -> None:
    settings.ENVIRONMENT = replace(live_settings.ENVIRONMENT, pg_programs=PG_PROGRAMS)
    settings.FRAGINV_HOME = tmp_path
    (tmp_path / "signing.key").write_text("key")


def test_what_waits_comes_back_and_is_read(grower: Person, tmp_path: Path) -> None:
    batch = open_batch(uuid.uuid4(), by=grower)
    row = keep_incoming(labelled(), name="a.jpg", batch=batch)
    made = back_up(tmp_path / "reef.zip")
    storage_for(private=True).delete(waiting_name(row))
    with opened(made.file) as archive:
        put_files(archive, manifest=manifest_in(archive))
    work_off(row.pk)
    assert (Incoming.objects.get().state, made.problem) == ("tray", "")


def test_what_is_read_while_the_backup_is_made_is_no_problem(
    grower: Person, tmp_path: Path
) -> None:
    row = keep_incoming(labelled(), name="a.jpg", batch=open_batch(uuid.uuid4(), by=grower))
    storage_for(private=True).delete(waiting_name(row))
    assert back_up(tmp_path / "reef.zip").problem == ""
