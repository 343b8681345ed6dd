"""Processes that are killed together, as when the power goes; they are found in Linux's /proc."""

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from tests.postgres import Server

GONE_SECONDS = 20


class Group:
    """One command with all that it starts, in a process group of its own."""

    def __init__(
        self, command: Sequence[str], *, environment: Mapping[str, str], log: Path
    ) -> None:
        with log.open("ab") as output:
            self.process = subprocess.Popen(
                command,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=output,
                start_new_session=True,
            )

    def members(self) -> list[int]:
        """Return the processes of the group that live."""
        return [pid for pid, group in living() if group == self.process.pid]

    def kill(self) -> None:
        """End all of them at once, with no chance to tidy up."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(timeout=GONE_SECONDS)
        wait_until_gone(self.members)

    def stop(self) -> None:
        """Ask the first of them to end all in good order."""
        self.process.terminate()
        self.process.wait(timeout=GONE_SECONDS)


def kill_server(server: Server) -> None:
    """End a PostgreSQL server and all its backends at once.

    Each backend is the leader of a group of its own, so that the group of the
    first alone would leave them; that one is held while they are listed.
    """
    first = server.process.pid
    os.kill(first, signal.SIGSTOP)
    backends = children_of(first)
    for pid in (first, *backends):
        os.kill(pid, signal.SIGKILL)
    server.process.wait(timeout=GONE_SECONDS)
    wait_until_gone(lambda: [pid for pid, _ in living() if pid in backends])


def children_of(pid: int) -> list[int]:
    """Return the processes that a process started."""
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def living() -> Iterator[tuple[int, int]]:
    """Yield each process that is not over, with its group."""
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            state, _, group = (folder / "stat").read_text().rpartition(")")[2].split()[:3]
        except (FileNotFoundError, ProcessLookupError):
            continue
        if state not in "ZX":
            yield int(folder.name), int(group)


def wait_until_gone(left: Callable[[], Sequence[int]]) -> None:
    """Wait until nothing is left.

    Raises: RuntimeError naming the processes that are.
    """
    until = time.monotonic() + GONE_SECONDS
    while found := left():
        if time.monotonic() > until:
            raise RuntimeError(f"Killed, and still there: {found}")
        time.sleep(0.01)
