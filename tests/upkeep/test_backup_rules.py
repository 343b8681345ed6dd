"""What a backup is called, what it says of itself, and which paths are refused."""

import json
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest

from fraginv.base.errors import InputError
from fraginv.upkeep.rules.archive import (
    Entry,
    Manifest,
    check_entries,
    is_safe,
    read_manifest,
    write_manifest,
)
from fraginv.upkeep.rules.nightly import (
    LEFT_OVER,
    incomplete_name,
    nightly_name,
    too_many,
    upgrade_name,
)

HASH = "a" * 64
ENTRIES = [
    Entry("database.sqlite3", 10, HASH),
    Entry("media/pictures/aa/bb/240.jpg", 3, HASH),
    Entry("signing.key", 5, HASH),
]
MANIFEST = Manifest(
    version="0.1.0",
    made_at="2026-11-25T17:00:00+00:00",
    engine="sqlite",
    engine_version="3.40.1",
    migrations=[("base", "0001_initial")],
    rows={"base_person": 5},
    entries=ENTRIES,
    problems=["media/x is missing"],
)
FOUND = [("manifest.json", 900), *((entry.path, entry.size) for entry in ENTRIES)]


def test_a_manifest_reads_back_as_it_was_written() -> None:
    document = json.loads(write_manifest(MANIFEST))
    assert document["format"] == 1
    assert document["entries"][0] == {"path": "database.sqlite3", "size": 10, "sha256": HASH}
    assert read_manifest(write_manifest(MANIFEST)) == MANIFEST


def changed(**words: Any) -> bytes:
    """Return the manifest with some words replaced; None takes a word away."""
    document = json.loads(write_manifest(MANIFEST)) | words
    return json.dumps(
        {name: value for name, value in document.items() if value is not None}
    ).encode()


@pytest.mark.parametrize(
    ("data", "match"),
    [
        pytest.param(b"", "cannot be read", id="empty"),
        pytest.param(b"{", "cannot be read", id="broken"),
        pytest.param(b"[]", "cannot be read", id="a list"),
        pytest.param(b"\xff", "cannot be read", id="not text"),
        pytest.param(b"[" * 100_000, "cannot be read", id="deep"),
        pytest.param(changed(format=2), "has format 2, and this fraginv reads", id="later format"),
        pytest.param(changed(format=None), "cannot be read", id="no format"),
        pytest.param(changed(engine="oracle"), "unknown engine 'oracle'", id="engine"),
        pytest.param(changed(rows=None), "damaged .'rows'.", id="no rows"),
        pytest.param(changed(rows={"a": -1}), "-1 is below zero", id="less than no rows"),
        pytest.param(changed(rows={"a": True}), "True is no number", id="truth for rows"),
        pytest.param(changed(rows=[]), "damaged", id="rows in a list"),
        pytest.param(changed(migrations=[["a"]]), "damaged", id="half a migration"),
        pytest.param(changed(migrations=[["a", 1]]), "1 is no text", id="number for a name"),
        pytest.param(changed(entries=[{"path": "a"}]), "damaged .'size'.", id="half an entry"),
        pytest.param(changed(entries=7), "damaged", id="number for entries"),
        pytest.param(changed(version=1), "1 is no text", id="number for a version"),
    ],
)
def test_a_manifest_that_cannot_be_is_refused(data: bytes, match: str) -> None:
    with pytest.raises(InputError, match=match):
        read_manifest(data)


@pytest.mark.parametrize(
    ("path", "safe"),
    [
        ("media/pictures/aa/1600.jpg", True),
        ("private/a.pdf", True),
        ("signing.key", True),
        ("manifest.json", True),
        ("database.sql", True),
        ("media/../signing.key", False),
        ("../etc/passwd", False),
        ("/etc/passwd", False),
        ("media//a", False),
        ("media/./a", False),
        ("media/", False),
        ("media", False),
        ("media\\..\\a", False),
        ("media/a\\b", False),
        ("media/a\x00b", False),
        ("media/C:a", False),
        ("static/app.css", False),
        ("other.txt", False),
        ("", False),
        (f"media/{'a' * 201}", False),
    ],
)
def test_which_paths_stay_in_their_place(path: str, *, safe: bool) -> None:
    assert is_safe(path) is safe


@pytest.mark.parametrize(
    ("found", "match"),
    [
        pytest.param(FOUND[:-1], "signing.key is missing", id="missing"),
        pytest.param([*FOUND, ("media/extra.jpg", 1)], "media/extra.jpg is in the", id="extra"),
        pytest.param([*FOUND, FOUND[1]], "database.sqlite3 twice", id="twice"),
        pytest.param([*FOUND, ("media/../../x", 1)], "leads astray", id="astray"),
        pytest.param(
            [*FOUND[:-1], ("signing.key", 6)], "signing.key is missing in .* size", id="size"
        ),
    ],
)
def test_files_that_are_not_those_of_the_manifest(found: list[tuple[str, int]], match: str) -> None:
    check_entries(MANIFEST, found=FOUND)
    with pytest.raises(InputError, match=match):
        check_entries(MANIFEST, found=found)


@pytest.mark.parametrize("lost", ["database.sqlite3", "signing.key"])
def test_a_backup_holds_a_database_and_a_key(lost: str) -> None:
    entries = [entry for entry in ENTRIES if entry.path != lost]
    manifest = Manifest(**{**vars(MANIFEST), "entries": entries})
    with pytest.raises(InputError, match=f"holds no {lost}"):
        check_entries(manifest, found=[row for row in FOUND if row[0] != lost])


def test_names_are_in_utc_and_sort_by_time() -> None:
    moment = datetime(2026, 11, 25, 22, 10, 5, tzinfo=timezone(timedelta(hours=-5)))
    assert nightly_name(moment) == "fraginv-2026-11-26-031005.zip"
    assert incomplete_name(nightly_name(moment)) == "fraginv-2026-11-26-031005-incomplete.zip"
    assert upgrade_name(moment, version="0.2.0") == "before-0.2.0-2026-11-26-031005.zip"
    assert nightly_name(moment) < nightly_name(moment + timedelta(seconds=1))


def night(day: int, end: str = "") -> str:
    return nightly_name(datetime(2026, 11, day, 3, 10, tzinfo=UTC)).replace(".zip", f"{end}.zip")


NIGHTS = [night(day) for day in range(1, 8)]
FOREIGN = ["fraginv-old.zip", "before-0.1.0-2026-01-01-000000.zip", "notes.txt", "fraginv.zip"]


@pytest.mark.parametrize(
    ("names", "keep", "made", "gone"),
    [
        pytest.param(NIGHTS, 7, night(7), [], id="just enough"),
        pytest.param(NIGHTS, 5, night(7), [night(1), night(2)], id="two too many"),
        pytest.param([*NIGHTS, *FOREIGN], 1, night(7), NIGHTS[:6], id="others' files stay"),
        pytest.param(NIGHTS, 2, night(1), NIGHTS[1:5], id="clock jumped back: the new one stays"),
        pytest.param(
            [night(1), *(night(day, "-incomplete") for day in (2, 3, 4))],
            1,
            night(4, "-incomplete"),
            [night(2, "-incomplete"), night(3, "-incomplete")],
            id="the last good one stays",
        ),
        pytest.param([], 3, "", [], id="none"),
    ],
)
def test_which_nightly_backups_go(names: list[str], keep: int, made: str, gone: list[str]) -> None:
    assert too_many(reversed(names), keep=keep, made=made) == gone


@pytest.mark.parametrize(
    ("name", "ours"),
    [
        (f".{NIGHTS[0]}.0a1b2c3d.part", True),
        (f".{NIGHTS[0]}.0a1b2c3d.part.sqlite3", True),
        (f".{NIGHTS[0]}.0a1b2c3d.part.sqlite3-journal", True),
        (NIGHTS[0], False),
        (".bashrc", False),
        (".fraginv-notes", False),
    ],
)
def test_what_a_power_cut_leaves(name: str, *, ours: bool) -> None:
    assert bool(LEFT_OVER.fullmatch(name)) is ours
