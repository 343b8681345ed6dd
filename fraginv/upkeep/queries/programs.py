"""Which of PostgreSQL's own programs this machine has."""

import re
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path
from shutil import which

from django.conf import settings
from django.db import connection

from fraginv.upkeep.rules.archive import BackupFailed

INSTALLED = Path("/usr/lib/postgresql")
PROGRAM = "pg_dump"


def dump_program() -> Path:
    """Return a pg_dump that is not older than the server.

    Raises: BackupFailed saying what to install.
    Queries: 1, for the server's version.
    """
    connection.ensure_connection()
    version: int = connection.pg_version  # type: ignore[attr-defined]  # PostgreSQL alone
    return program_for(version // 10_000)


def program_for(server: int) -> Path:
    """Return the oldest pg_dump that is not older than a server of that major version.

    Raises: BackupFailed saying what to install.
    """
    found = {path: version_of(path) for path in candidates()}
    fitting = [(version, path) for path, version in found.items() if version >= server]
    if fitting:
        return min(fitting)[1]
    there = ", ".join(f"{version} in {path.parent}" for path, version in found.items() if version)
    raise BackupFailed(
        f"The server is PostgreSQL {server}, and its backup needs a {PROGRAM} of version {server} "
        f"or newer; here is {there or 'none'}. Install the package postgresql-client-{server}, "
        f"or name the folder that has one in FRAGINV_PG_PROGRAMS."
    )


def candidates() -> Iterator[Path]:
    """Yield where pg_dump may lie: where the settings say, and else where it is usual."""
    told = settings.ENVIRONMENT.pg_programs
    if told is not None:
        yield told / PROGRAM
        return
    on_path = which(PROGRAM)
    if on_path:
        yield Path(on_path)
    yield from sorted(INSTALLED.glob(f"*/bin/{PROGRAM}"))


def version_of(program: Path) -> int:
    """Return a program's major version, or 0 where it does not run."""
    try:
        said = subprocess.run(  # noqa: S603 a program of the settings or the system
            [program, "--version"], capture_output=True, text=True, check=False, timeout=20
        ).stdout
    except (OSError, subprocess.TimeoutExpired):
        return 0
    found = re.search(r"\) (\d+)", said)
    return int(found[1]) if found else 0


def dump_command() -> tuple[list[str], Mapping[str, str]]:
    """Return what dumps the database, and the variables that let it in.

    The password stands in a variable and never on the command line.
    Raises: BackupFailed as ``dump_program``.
    """
    program = dump_program()
    words, variables = connection.client.settings_to_cmd_args_env(connection.settings_dict, [])
    options = ["--format=plain", "--no-owner", "--no-privileges", "--encoding=UTF8"]
    return [str(program), *options, *words[1:]], {**(variables or {}), "PGTZ": "UTC"}
