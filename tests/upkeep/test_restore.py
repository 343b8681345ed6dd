"""Backups that must not be restored, and restores that fail and leave nothing."""

import random
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from fraginv.base.errors import Conflict, FraginvError, InputError
from fraginv.base.home import signing_key
from fraginv.base.version import version
from fraginv.front.serving.lock import take_home
from fraginv.upkeep.actions import restoring
from fraginv.upkeep.actions.restoring import look_through, restore, unpacked
from fraginv.upkeep.queries.archives import opened
from fraginv.upkeep.queries.emptiness import holds_file
from fraginv.upkeep.rules.archive import Manifest
from tests.empty import empty_home, home_under_test
from tests.front.running import Line, listing
from tests.upkeep.archives import KEPT, Contents, contents_of, rewritten
from tests.upkeep.tables import tables_on

DATABASE = "database.sqlite3"


def look(file: Path) -> None:
    """Look at everything in a backup, as a restore does before it writes."""
    with opened(file) as archive:
        look_through(archive)


def test_a_sound_backup_is_looked_through() -> None:
    look(KEPT)


def photo_of(contents: Contents) -> str:
    return next(name for name in contents if name.endswith("240.jpg"))


def lose(name: str) -> Callable[[Contents], None]:
    return lambda contents: contents.__delitem__(name)


def add(name: str, data: bytes = b"x") -> Callable[[Contents], None]:
    return lambda contents: contents.update({name: data})


def flip(contents: Contents) -> None:
    """Change one byte of a photo, and not its length."""
    data = bytearray(contents[photo_of(contents)])
    data[100] ^= 1
    contents[photo_of(contents)] = bytes(data)


def later(manifest: dict[str, Any]) -> None:
    manifest["version"] = "9.0.0"
    manifest["migrations"] += [["planner", "0001_initial"], ["stock", "0099_later"]]


def claim(**words: Any) -> Callable[[dict[str, Any]], None]:
    return lambda manifest: manifest.update(words)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        pytest.param({"contents": lose("signing.key")}, "signing.key is missing", id="no key"),
        pytest.param({"contents": lose(DATABASE)}, "sqlite3 is missing", id="no database"),
        pytest.param({"contents": flip}, r"240.jpg is damaged in the backup", id="one bit"),
        pytest.param({"contents": add("media/x.jpg")}, "not in its manifest", id="one more"),
        pytest.param({"contents": add("media/../../x")}, "leads astray", id="upwards"),
        pytest.param({"contents": add("/etc/cron.d/x"), "honest": True}, "leads astray", id="root"),
        pytest.param({"contents": add("static/x.js"), "honest": True}, "leads astray", id="other"),
        pytest.param({"contents": add(DATABASE, bytes(50_000_000))}, "another size", id="bomb"),
        pytest.param({"manifest": claim(format=2)}, "has format 2", id="later format"),
        pytest.param({"manifest": claim(engine="postgresql")}, "no database.sql", id="engine"),
        pytest.param(
            {"manifest": later},
            f"made by fraginv 9.0.0, and this is {version()}, which does not know planner "
            "0001_initial, stock 0099_later",
            id="newer",
        ),
    ],
)
def test_what_is_refused_before_anything_is_written(
    tmp_path: Path, change: dict[str, Any], match: str
) -> None:
    file = rewritten(KEPT, tmp_path / "changed.zip", **change)
    with pytest.raises(InputError, match=match):
        look(file)


def test_files_that_are_no_backups(tmp_path: Path) -> None:
    text, half, other = (tmp_path / name for name in ("a.zip", "half.zip", "other.zip"))
    text.write_text("no archive")
    half.write_bytes(KEPT.read_bytes()[:50_000])
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("holiday.jpg", b"x")
    for file, match in (
        (text, "is no sound backup"),
        (half, "is no sound backup"),
        (other, "it has no manifest"),
        (tmp_path / "none.zip", "There is no file"),
        (tmp_path, "cannot be read: Is a directory"),
    ):
        with pytest.raises(InputError, match=match):
            look(file)


def test_archives_packed_in_other_ways_are_refused(tmp_path: Path) -> None:
    packed = tmp_path / "packed.zip"
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_LZMA) as archive:
        for name, data in contents_of(KEPT).items():
            archive.writestr(name, data)
    with pytest.raises(InputError, match="packed in a way that no backup is"):
        look(packed)
    bits = bytearray(KEPT.read_bytes())
    bits[bits.rindex(b"PK\x01\x02") + 8] |= (
        1  # general purpose bit 0: encrypted (APPNOTE.TXT 4.4.4)
    )
    packed.write_bytes(bits)
    with pytest.raises(InputError, match="packed in a way that no backup is"):
        look(packed)


def test_no_flipped_bit_goes_by(tmp_path: Path) -> None:
    sound, before = KEPT.read_bytes(), contents_of(KEPT)
    chance, file = random.Random(7), tmp_path / "flipped.zip"
    refused = 0
    for _ in range(120):
        data = bytearray(sound)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        file.write_bytes(data)
        try:
            look(file)
        except InputError:
            refused += 1
        else:  # a bit that says nothing of the contents, such as a file's date
            assert contents_of(file) == before
    assert refused > 100


def test_a_backup_that_would_fill_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(tmp_path)._replace(free=1000)
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: usage)
    with pytest.raises(InputError, match=r"unpacks to 1 MB, and .* has room for 0 MB"):
        look(KEPT)


def lie(manifest: dict[str, Any]) -> None:
    manifest["rows"]["trade_sale"] += 1


def damage(contents: Contents) -> None:
    data = bytearray(contents[DATABASE])
    data[200_000:210_000] = bytes(10_000)
    contents[DATABASE] = bytes(data)


def unpack(file: Path) -> None:
    """Take a backup's database out of it, as a restore does first."""
    with opened(file) as archive, unpacked(archive, manifest=look_through(archive)) as copy:
        assert copy.exists()


@pytest.mark.parametrize(
    ("change", "match"),
    [
        pytest.param({"manifest": lie}, "not the one that its manifest", id="rows"),
        pytest.param({"contents": damage, "honest": True}, "damaged|malformed", id="pages"),
        pytest.param(
            {"contents": add(DATABASE, b"text"), "honest": True}, "cannot be read", id="text"
        ),
    ],
)
@pytest.mark.django_db
def test_a_database_that_is_not_what_the_manifest_says(
    tmp_path: Path, change: dict[str, Any], match: str
) -> None:
    file = rewritten(KEPT, tmp_path / "changed.zip", **change)
    before = set(settings.FRAGINV_HOME.iterdir())
    with pytest.raises(FraginvError, match=match):
        unpack(file)
    assert set(settings.FRAGINV_HOME.iterdir()) == before


@pytest.mark.django_db
def test_a_home_that_is_not_empty_is_named_and_left_alone() -> None:
    with pytest.raises(Conflict, match=r"only into an empty home. Here is .*the table auth_group"):
        restore(KEPT, check=lambda: None)


def test_what_counts_as_full(tmp_path: Path) -> None:
    (tmp_path / "a" / "b").mkdir(parents=True)
    assert not holds_file(tmp_path / "a")
    (tmp_path / "a" / "b" / "c").touch()
    assert holds_file(tmp_path / "a")


@pytest.mark.django_db
def test_a_restore_that_fails_leaves_home_and_database_empty(tmp_path: Path) -> None:
    """The disk is full after the database was put in place: a photo is larger than its room."""
    large = f"media/pictures/aa/{'a' * 64}/original.jpg"
    file = rewritten(
        KEPT, tmp_path / "large.zip", contents=add(large, bytes(8_000_000)), honest=True
    )
    with home_under_test(tmp_path / "home") as line:
        line("check")
        before = listing(line.home)
        assert set(before) == {"signing.key"}
        failed = limited(line, "restore", str(file), kilobytes=6000)
        assert failed.returncode == 1
        assert "could not be restored" in failed.stderr
        assert "Traceback" not in failed.stderr
        assert listing(line.home) == before
        url = line.environment.get("DATABASE_URL")
        assert (tables_on(url) if url else {}) == {}
        (line.home / "notes.txt").write_text("mine")
        full = line("restore", KEPT)
        assert (full.status, "Here is notes.txt." in full.err) == (1, True)


def limited(line: Line, *words: str, kilobytes: int) -> "subprocess.CompletedProcess[str]":
    """Run a command in a shell that lets no file grow beyond a size."""
    order = f'ulimit -f {kilobytes}; exec "$0" manage.py "$@"'
    return subprocess.run(
        ["bash", "-c", order, sys.executable, *words],
        cwd=settings.BASE_DIR,
        env=line.variables(),
        capture_output=True,
        text=True,
        check=False,
    )


def test_nobody_serves_a_home_that_is_being_restored(tmp_path: Path) -> None:
    with empty_home(tmp_path / "home") as line:
        signing_key(line.home)
        lock = take_home(line.home)
        lock.note(url="http://127.0.0.1:8000/")
        refused = line("restore", KEPT)
        lock.let_go()
        assert refused.status == 1
        assert "serves" in refused.err
        assert line.told("restore", KEPT)["differences"] == []
        assert "serving.lock" not in listing(line.home)


@pytest.mark.django_db
def test_one_thing_that_cannot_be_removed_leaves_nothing_else(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    done: list[str] = []

    def away(*_: object) -> None:
        raise ConnectionError("the store is away")

    monkeypatch.setattr(restoring, "remove_files", away)
    monkeypatch.setattr(restoring, "remove_key_part", lambda: done.append("key"))
    monkeypatch.setattr(restoring, "remove_database", lambda _: done.append("database"))
    manifest = Manifest.__new__(Manifest)
    with pytest.raises(ZeroDivisionError), restoring.all_or_nothing(manifest):
        raise ZeroDivisionError("the first error")
    assert done == ["database", "key"]
    assert "could not be removed" in caplog.text
