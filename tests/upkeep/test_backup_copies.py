"""Copies of the database that cannot be had: no program, a dump that breaks off, damage."""

import io
import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from pytest_django import Settings

from fraginv.upkeep.actions.archives import Writer, say_sqlite
from fraginv.upkeep.queries import copies, programs
from fraginv.upkeep.queries.copies import dump_lines, refuse_unsound
from fraginv.upkeep.queries.programs import program_for
from fraginv.upkeep.queries.stored import Named
from fraginv.upkeep.rules.archive import BackupFailed


def program(folder: Path, *lines: str) -> Path:
    """Write a program that stands in for pg_dump."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "pg_dump"
    file.write_text("\n".join(["#!/bin/sh", *lines, ""]))
    file.chmod(0o755)
    return file


def version(number: str) -> str:
    """Say what pg_dump of a version says of itself."""
    return f'echo "pg_dump (PostgreSQL) {number}"'


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Version 15.2 on the PATH; 17 and 19 where the system keeps them; one that does not run."""
    monkeypatch.setenv("PATH", str(program(tmp_path / "path", version("15.2")).parent), prepend=":")
    monkeypatch.setattr(programs, "INSTALLED", tmp_path / "lib")
    for number in ("17", "19"):
        program(tmp_path / "lib" / number / "bin", version(f"{number}.1 (Debian {number}.1-1)"))
    program(tmp_path / "lib" / "20" / "bin", "exit 1")
    return tmp_path


@pytest.mark.parametrize(
    ("server", "place"),
    [(14, "path"), (15, "path"), (16, "lib/17/bin"), (17, "lib/17/bin"), (18, "lib/19/bin")],
)
def test_the_oldest_program_that_fits(installed: Path, server: int, place: str) -> None:
    assert program_for(server) == installed / place / "pg_dump"


def test_no_program_that_fits(installed: Path, settings: Settings) -> None:
    with pytest.raises(BackupFailed) as failed:
        program_for(20)
    assert "The server is PostgreSQL 20" in failed.value.message
    assert f"here is 15 in {installed / 'path'}, 17 in" in failed.value.message
    assert "Install the package postgresql-client-20" in failed.value.message
    told = installed / "lib" / "17" / "bin"
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, pg_programs=told)
    assert program_for(17) == told / "pg_dump"
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, pg_programs=installed / "nowhere")
    with pytest.raises(BackupFailed, match="or newer; here is none"):
        program_for(17)


@pytest.mark.parametrize(
    ("lines", "match"),
    [
        pytest.param(
            ["echo a", "echo no disk >&2", "exit 1"], "pg_dump failed: no disk", id="fails"
        ),
        pytest.param(["echo a"], "pg_dump failed: it broke off", id="breaks off"),
    ],
)
def test_a_dump_that_is_not_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lines: list[str], match: str
) -> None:
    monkeypatch.setattr(copies, "dump_command", lambda: ([str(program(tmp_path, *lines))], {}))
    read = dump_lines()
    assert next(read) == b"a\n"
    with pytest.raises(BackupFailed, match=match):
        list(read)


def test_a_dump_that_nobody_wants_to_its_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    endless = program(tmp_path, "exec yes")
    monkeypatch.setattr(copies, "dump_command", lambda: ([str(endless)], {}))
    read = dump_lines()
    assert next(read) == b"y\n"
    read.close()


def test_a_row_that_points_nowhere_is_found() -> None:
    with closing(sqlite3.connect(":memory:")) as database:
        database.execute("CREATE TABLE a (id INTEGER PRIMARY KEY)")
        database.execute("CREATE TABLE b (a_id INTEGER REFERENCES a (id))")
        refuse_unsound(database)
        database.execute("INSERT INTO b VALUES (7)")
        with pytest.raises(BackupFailed, match="A row of b points to a row of a"):
            refuse_unsound(database)


class Broken(io.BytesIO):
    """A file on a disk that fails after its first part."""

    def read(self, size: int | None = -1, /) -> bytes:
        """Fail as the system does when a sector cannot be read."""
        raise OSError(5, "Input/output error")


def test_a_file_that_breaks_off_is_kept_as_far_as_it_goes(writer: Writer) -> None:
    file = Named("a.jpg", "media/a.jpg", private=False, sha256="")
    assert list(writer.portions(file, first=b"begun", handle=Broken())) == [b"begun"]
    assert writer.problems == ["media/a.jpg (Input/output error) in the store"]


@pytest.fixture
def writer() -> Writer:
    """A writer into memory."""
    return Writer(zipfile.ZipFile(io.BytesIO(), "w"))


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("database or disk is full", "cannot be copied into"),
        ("disk I/O error", "Free some room"),
        ("file is not a database", "could not be copied: file is not a database"),
    ],
)
def test_why_sqlite_could_not_be_copied(tmp_path: Path, said: str, shown: str) -> None:
    assert shown in say_sqlite(sqlite3.OperationalError(said), folder=tmp_path)
