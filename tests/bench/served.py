"""A real server for benches: gunicorn in a process of its own, and what CPU it took."""

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path

WAIT_SECONDS = 20
TICKS = os.sysconf("SC_CLK_TCK")


class Served:
    """A running server, asked by one caller over one connection that stays open.

    Where it does not answer, its log says why.
    """

    def __init__(self, process: subprocess.Popen[bytes], port: int) -> None:
        self.process = process
        self.line = HTTPConnection("127.0.0.1", port, timeout=WAIT_SECONDS)

    def ask(self, path: str, cookies: str) -> int:
        """Ask for a page, read it to its end, and return its status."""
        self.line.request("GET", path, headers={"Host": "localhost", "Cookie": cookies})
        answer = self.line.getresponse()
        answer.read()
        return answer.status

    def cpu_ms(self) -> float:
        """Return the CPU time that the server's processes took until now."""
        pids = [self.process.pid, *children_of(self.process.pid)]
        return sum(map(ticks_of, pids)) * 1000 / TICKS

    def cpu_of(self, path: str, cookies: str, *, requests: int) -> float:
        """Return the server's CPU time for one request in ms, over many.

        Raises: RuntimeError when one is not answered as it should be.
        """
        start = self.cpu_ms()
        for _ in range(requests):
            status = self.ask(path, cookies)
            if status != 200:
                raise RuntimeError(f"{path}: {status}")
        return (self.cpu_ms() - start) / requests


def children_of(pid: int) -> list[int]:
    """Return the processes that a process started."""
    listed = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return [int(child) for child in listed.split()]


def ticks_of(pid: int) -> int:
    """Return the clock ticks that a process took for itself and in the kernel."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return int(fields[11]) + int(fields[12])


@contextmanager
def served(application: str, *, log: Path) -> Iterator[Served]:
    """Serve an application, such as ``tests.bench.bare:application``, by one worker.

    Args: ``log`` is the file that gets what the server says.
    """
    with socket.socket() as door, log.open("wb") as said:
        door.bind(("127.0.0.1", 0))
        # Without it each answer waits for the caller's receipt of its head.
        door.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        door.listen(64)
        fd = door.fileno()
        options = ["--bind", f"fd://{fd}", "--workers", "1", "--threads", "2"]
        command = [sys.executable, "-m", "gunicorn", *options, "--log-level", "error", application]
        process = subprocess.Popen(command, pass_fds=[fd], stderr=said)
        try:
            yield Served(process, door.getsockname()[1])
        finally:
            process.terminate()
            process.wait(WAIT_SECONDS)
