"""Backups of files that lie in an S3-compatible store, and their way back into one."""

from dataclasses import replace
from pathlib import Path

import boto3
import pytest
from django.conf import settings as live_settings
from pytest_django import Settings

from fraginv.base.actions.files import store_picture
from fraginv.base.queries.files import read_original, storage_for
from fraginv.upkeep.actions.backups import back_up
from fraginv.upkeep.actions.restoring import put_files, remove_files
from fraginv.upkeep.queries.archives import manifest_in, opened
from fraginv.upkeep.queries.emptiness import stored
from tests.base.test_pictures import make_picture
from tests.base.test_store import bucket, endpoint, names_in
from tests.empty import PG_PROGRAMS

__all__ = ["bucket", "endpoint"]  # fixtures


@pytest.mark.django_db
def test_files_go_from_the_store_into_the_backup_and_back(
    bucket: "boto3.client",
    settings: Settings,
    tmp_path: Path,
) -> None:
    settings.ENVIRONMENT = replace(live_settings.ENVIRONMENT, pg_programs=PG_PROGRAMS)
    settings.FRAGINV_HOME = tmp_path
    (tmp_path / "signing.key").write_text("key")
    assert stored(storage_for(private=False)) == []
    public = store_picture(make_picture(size=(700, 350)))
    store_picture(make_picture(), private=True)
    before, data = names_in(bucket), read_original(public)
    made = back_up(tmp_path / "reef.zip")
    assert made.problem == ""
    held = {entry.path for entry in made.manifest.entries}
    assert held == {*before, "signing.key", made.manifest.database}
    assert stored(storage_for(private=False)) == ["pictures in the store"]

    with opened(made.file) as archive:
        manifest = manifest_in(archive)
        remove_files(manifest)
        assert names_in(bucket) == []
        put_files(archive, manifest=manifest)
    assert names_in(bucket) == before
    assert read_original(public) == data
    bucket.delete_object(Bucket="reef-files", Key=before[0])
    again = back_up(tmp_path / "again.zip")
    assert again.manifest.problems == [f"{before[0]} is missing in the store"]
