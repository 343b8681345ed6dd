"""Backups that are made: what is in them by other programs' account, and what stops one."""

import json
import os
import signal
import subprocess
import tracemalloc
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as live_settings
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import connection
from pytest_django import Settings

from fraginv.base.actions.files import store_picture
from fraginv.base.errors import Conflict
from fraginv.base.models import Organisation, StoredFile
from fraginv.base.queries.files import kept_names, storage_for
from fraginv.upkeep.actions.archives import Writer
from fraginv.upkeep.actions.backups import back_up, copy_backup, make_backup
from fraginv.upkeep.models import Backup
from fraginv.upkeep.queries.backups import age_of_last_good, backups_made, last_good_backup
from fraginv.upkeep.queries.copies import census_of_file
from fraginv.upkeep.rules.archive import BackupFailed
from tests.base.test_pictures import make_picture
from tests.empty import PG_PROGRAMS
from tests.upkeep.archives import contents_of, manifest_of, no_file_larger_than

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def stores(settings: Settings, tmp_path: Path) -> None:
    """Keep this test's files in folders of its own, and let pg_dump be found."""
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, pg_programs=PG_PROGRAMS)
    settings.STORAGES = {
        **settings.STORAGES,
        **{
            alias: {
                "BACKEND": "django.core.files.storage.FileSystemStorage",
                "OPTIONS": {"location": tmp_path / folder, "base_url": None},
            }
            for alias, folder in (("default", "media"), ("private", "private"))
        },
    }


@pytest.fixture
def photos(organisation: Organisation, stores: None) -> list[StoredFile]:
    """A public picture and a private one."""
    return [
        store_picture(make_picture(size=(700, 350))),
        store_picture(make_picture(size=(90, 50)), private=True),
    ]


@pytest.fixture
def target(tmp_path: Path) -> Path:
    (tmp_path / "backups").mkdir()
    return tmp_path / "backups" / "reef.zip"


def enlarge(photo: StoredFile, *, size: int) -> None:
    """Let a picture's rendition have that many bytes, nearly all of them zero."""
    large = kept_names(photo.sha256, media_type="image/jpeg")[1]
    os.truncate(storage_for(private=False).path(large), size)


def left_beside(target: Path) -> list[str]:
    return sorted(file.name for file in target.parent.iterdir())


def test_other_programs_read_it_and_its_hashes(photos: list[StoredFile], target: Path) -> None:
    made = make_backup(target)
    assert left_beside(target) == ["reef.zip"]
    assert target.stat().st_mode & 0o777 == 0o600
    tested = subprocess.run(["unzip", "-tq", target], capture_output=True, text=True, check=True)
    assert "No errors detected" in tested.stdout
    folder = target.parent / "unpacked"
    subprocess.run(["unzip", "-q", target, "-d", folder], check=True)
    entries = json.loads((folder / "manifest.json").read_text())["entries"]
    sums = "".join(f"{entry['sha256']}  {entry['path']}\n" for entry in entries)
    subprocess.run(["sha256sum", "-c", "--strict"], cwd=folder, input=sums.encode(), check=True)
    whole = subprocess.run(["sha256sum", target], capture_output=True, text=True, check=True)
    assert whole.stdout.split()[0] == made.sha256
    listed = {entry["path"]: entry["size"] for entry in entries}
    on_disk = {
        str(f.relative_to(folder)): f.stat().st_size for f in folder.rglob("*") if f.is_file()
    }
    on_disk.pop("manifest.json")
    assert listed == on_disk
    names = {f"media/{name}" for name in kept_names(photos[0].sha256, media_type="image/jpeg")}
    names |= {f"private/{name}" for name in kept_names(photos[1].sha256, media_type="image/jpeg")}
    assert set(listed) == names | {"signing.key", made.manifest.database}


@pytest.mark.django_db(transaction=True)
def test_the_manifest_says_what_is_there(photos: list[StoredFile], target: Path) -> None:
    make_backup(target)
    document = manifest_of(target)
    assert document["engine"] == connection.vendor
    assert document["rows"]["base_storedfile"] == 2
    with connection.cursor() as cursor:
        cursor.execute("SELECT app, name FROM django_migrations ORDER BY id")
        assert [tuple(row) for row in document["migrations"]] == cursor.fetchall()
        tables = set(connection.introspection.table_names(cursor))
        assert tables == set(document["rows"])
    held = contents_of(target)
    assert held["signing.key"].decode() == (live_settings.FRAGINV_HOME / "signing.key").read_text()
    database = held[f"database.{'sqlite3' if connection.vendor == 'sqlite' else 'sql'}"]
    if connection.vendor == "sqlite":
        file = target.with_name("copy.sqlite3")
        file.write_bytes(database)
        assert census_of_file(file).rows == document["rows"]
    else:
        assert b"OWNER TO" not in database
        assert b"GRANT " not in database


def test_pictures_are_stored_as_they_are(photos: list[StoredFile], target: Path) -> None:
    make_backup(target)
    shown = subprocess.run(["unzip", "-v", target], capture_output=True, text=True, check=True)
    ways = {line.split()[-1]: line.split()[1] for line in shown.stdout.splitlines()[3:-2]}
    assert {way for name, way in ways.items() if name.endswith(".jpg")} == {"Stored"}
    assert ways[f"database.{'sqlite3' if connection.vendor == 'sqlite' else 'sql'}"] == "Defl:N"


def test_it_is_written_down_and_its_age_is_known(organisation: Organisation, target: Path) -> None:
    assert (last_good_backup(), age_of_last_good()) == (None, None)
    made = make_backup(target)
    row = Backup.objects.get()
    assert (row.how, row.file, row.sha256, row.problem) == ("hand", str(target), made.sha256, "")
    assert row.size_bytes == target.stat().st_size
    assert last_good_backup() == row
    age = age_of_last_good()
    assert age is not None
    assert 0 <= age.total_seconds() < 60
    with pytest.raises(Conflict, match="exists already and is left as it is"):
        make_backup(target)
    assert list(backups_made()) == [row], "A name that is taken is no backup that failed."
    (target.parent / "file").touch()
    with pytest.raises(BackupFailed):
        make_backup(target.parent / "file" / "b.zip")
    assert [one.problem != "" for one in backups_made()] == [True, False]
    assert last_good_backup() == row


def test_a_lost_and_a_damaged_file_are_named_and_the_rest_is_kept(
    photos: list[StoredFile], target: Path
) -> None:
    storage = storage_for(private=False)
    original, large, *_ = kept_names(photos[0].sha256, media_type="image/jpeg")
    storage.delete(large)
    made = make_backup(target)
    assert made.manifest.problems == [f"media/{large} is missing in the store"]
    assert f"media/{large} is missing in the store. The backup holds everything" in made.problem
    assert Backup.objects.get().problem == made.problem
    assert last_good_backup() is None
    storage.delete(original)
    storage.save(original, ContentFile(b"other bytes"))
    again = make_backup(target.with_name("again.zip"))
    assert f"media/{original} is not what was kept" in again.manifest.problems
    assert contents_of(again.file)[f"media/{original}"] == b"other bytes"


def test_a_file_that_cannot_be_read_to_its_end_is_named(
    photos: list[StoredFile], target: Path
) -> None:
    original, large, *_ = kept_names(photos[0].sha256, media_type="image/jpeg")
    place = Path(storage_for(private=False).path(large))
    place.unlink()
    place.mkdir()
    made = back_up(target)
    assert made.manifest.problems == [f"media/{large} (Is a directory) in the store"]


@pytest.mark.parametrize(
    ("room", "photo"),
    [
        pytest.param(12_000, 1_000, id="in the database"),
        pytest.param(6_000_000, 8_000_000, id="in the photos"),
    ],
)
def test_a_full_disk_leaves_nothing(
    photos: list[StoredFile], target: Path, room: int, photo: int
) -> None:
    enlarge(photos[0], size=photo)
    with no_file_larger_than(room), pytest.raises(BackupFailed, match=r"room|I/O|full"):
        back_up(target)
    assert left_beside(target) == []
    assert back_up(target).problem == ""


def test_a_full_disk_is_told_by_the_command(photos: list[StoredFile], target: Path) -> None:
    with no_file_larger_than(12_000), pytest.raises(CommandError) as failed:
        call_command("backup", str(target))
    assert failed.value.returncode == 1
    assert left_beside(target) == []


@pytest.mark.parametrize(
    ("place", "match"),
    [
        pytest.param("nowhere/reef.zip", "There is no folder", id="no folder"),
        pytest.param("reef.txt/reef.zip", "There is no folder", id="a file for a folder"),
        pytest.param("media", "exists already", id="a folder"),
    ],
)
def test_where_no_backup_can_go(
    photos: list[StoredFile], tmp_path: Path, place: str, match: str
) -> None:
    (tmp_path / "reef.txt").touch()
    with pytest.raises((BackupFailed, Conflict), match=match):
        back_up(tmp_path / place)


def test_a_signal_in_the_middle_leaves_nothing(
    photos: list[StoredFile], target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ended(self: Writer, file: object) -> None:
        signal.raise_signal(signal.SIGTERM)

    def stop(*_: object) -> None:
        raise SystemExit(1)

    monkeypatch.setattr(Writer, "add_named", ended)
    before = signal.signal(signal.SIGTERM, stop)
    try:
        with pytest.raises(SystemExit):
            back_up(target)
    finally:
        signal.signal(signal.SIGTERM, before)
    assert left_beside(target) == []


def test_a_copy_is_read_back_and_its_folder_is_never_made(
    organisation: Organisation, target: Path, tmp_path: Path
) -> None:
    made = back_up(target)
    second = tmp_path / "second"
    with pytest.raises(BackupFailed, match="is not there. Mount its disk"):
        copy_backup(target, folder=second, sha256=made.sha256)
    assert not second.exists()
    second.mkdir()
    with pytest.raises(BackupFailed, match="did not read back as it was written"):
        copy_backup(target, folder=second, sha256="0" * 64)
    assert list(second.iterdir()) == []
    copy = copy_backup(target, folder=second, sha256=made.sha256)
    assert copy.read_bytes() == target.read_bytes()
    with pytest.raises(Conflict, match="exists already"):
        copy_backup(target, folder=second, sha256=made.sha256)


def test_large_files_pass_through_in_portions(photos: list[StoredFile], target: Path) -> None:
    enlarge(photos[0], size=100_000_000)
    tracemalloc.start()
    try:
        back_up(target)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert target.stat().st_size > 100_000_000
    assert peak < 30_000_000


def test_the_command_answers_in_json(organisation: Organisation, target: Path) -> None:
    out = StringIO()
    call_command("backup", str(target), "--json", stdout=out)
    said: dict[str, Any] = json.loads(out.getvalue())
    assert said["file"] == str(target)
    assert (said["engine"], said["problems"]) == (connection.vendor, [])
    assert said["rows"] == sum(manifest_of(target)["rows"].values())
