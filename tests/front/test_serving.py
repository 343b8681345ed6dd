"""Serving for real: watched over, one at a time on a home, ended together, behind a proxy."""

import os
import signal
import socket
import stat
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

import pytest
from django.conf import settings

from tests.browsing import PASSWORD
from tests.front.test_command_start import FIRST_RUN, environment, manage
from tests.serving import free_port

pytestmark = [pytest.mark.own_home, pytest.mark.xdist_group("serving")]
SECONDS = 40


@dataclass
class Started:
    """A running start: its process, where it serves, and what it wrote."""

    process: "subprocess.Popen[bytes]"
    port: int
    log: Path
    socket: str = ""

    def children(self) -> dict[str, int]:
        """Return the processes that it watches over, by what they do."""
        found = {}
        for entry in Path("/proc").iterdir():
            if not entry.name.isdigit():
                continue
            try:
                words = (entry / "cmdline").read_bytes().decode().split("\0")
                parent = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
            except (OSError, ValueError):
                continue
            if parent == self.process.pid:
                found["server" if "gunicorn" in words else "worker"] = int(entry.name)
        return found

    def ask(self, path: str, **headers: str) -> tuple[int, dict[str, str]]:
        """Ask for a page; return its status and headers."""
        call = HTTPConnection("127.0.0.1", self.port, timeout=10)
        try:
            if self.socket:
                call.sock = socket.socket(socket.AF_UNIX)
                call.sock.connect(self.socket)
            call.request("GET", path, headers={k.replace("_", "-"): v for k, v in headers.items()})
            with call.getresponse() as answer:
                answer.read()
                pairs = [(name.lower(), value) for name, value in answer.getheaders()]
                cookies = " ".join(value for name, value in pairs if name == "set-cookie")
                return answer.status, dict(pairs) | {"cookies": cookies}
        finally:
            call.close()

    def answers(self) -> bool:
        try:
            return self.ask("/healthz", Host="localhost")[0] in {200, 503}
        except OSError:
            return False


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with an organisation and its owner."""
    folder = tmp_path_factory.mktemp("serving") / "home"
    made = manage(folder, "start", "--no-serve", *FIRST_RUN, FRAGINV_PASSWORD=PASSWORD)
    assert made.returncode == 0, made.stderr
    return folder


@contextmanager
def started(home: Path, *options: str, **more: str) -> Iterator[Started]:
    """Run start until the block ends."""
    port, log = free_port(), home.parent / "start.log"
    where = [] if "--listen" in options else ["--port", str(port)]
    with log.open("wb") as output:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "start", *where, *options],
            cwd=settings.BASE_DIR,
            env=environment(home, FRAGINV_PROCESSES="1", **more),
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=output,
        )
    unix = next((one.removeprefix("unix:") for one in options if one.startswith("unix:")), "")
    running = Started(process, port, log, unix)
    try:
        wait_until(lambda: running.answers() or process.poll() is not None, log)
        yield running
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
        process.wait(timeout=SECONDS)


def wait_until(so: Callable[[], bool], log: Path) -> None:
    """Look again and again until it is so, or fail with what was written."""
    until = time.monotonic() + SECONDS
    while not so():
        assert time.monotonic() < until, log.read_text()[-3000:]
        time.sleep(0.1)


def is_alive(pid: int) -> bool:
    """Tell whether a process runs, one that ended and was not fetched yet not counted."""
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False


def test_it_watches_over_the_pages_and_a_worker(home: Path) -> None:
    with started(home) as running:
        wait_until(lambda: set(running.children()) == {"server", "worker"}, running.log)
        first = running.children()
        os.kill(first["server"], signal.SIGKILL)
        wait_until(
            lambda: (
                running.children().get("server", first["server"]) != first["server"]
                and running.answers()
            ),
            running.log,
        )
        assert "It is started again in 1 s" in running.log.read_text()
        second = manage(home, "start", "--port", str(free_port()))
        assert second.returncode == 1
        assert f"Process {running.process.pid} serves {home} already" in second.stderr
        children = running.children()
    assert running.process.returncode == 0
    assert not any(is_alive(pid) for pid in children.values())


def test_killed_itself_it_leaves_nobody_behind_and_starts_again(home: Path) -> None:
    with started(home) as running:
        wait_until(lambda: set(running.children()) == {"server", "worker"}, running.log)
        children = running.children()
        running.process.kill()
        running.process.wait(timeout=SECONDS)
        wait_until(lambda: not any(is_alive(pid) for pid in children.values()), running.log)
    more = {"FRAGINV_HTTPS": "1", "FRAGINV_HOST": "reef.example,localhost"}
    with started(home, "--no-work", **more) as again:
        assert again.answers(), again.log.read_text()
        assert set(again.children()) == {"server"}
        # Without a proxy that is named nobody is believed about HTTPS.
        status, _ = again.ask("/sign-in", Host="reef.example", X_Forwarded_Proto="https")
        assert status == 301


def test_behind_a_proxy_that_speaks_https(home: Path) -> None:
    more = {
        "FRAGINV_HTTPS": "1",
        "FRAGINV_HOST": "reef.example,localhost",
        "FRAGINV_PROXY": "127.0.0.1",
    }
    with started(home, "--no-work", **more) as running:
        status, said = running.ask("/sign-in", Host="reef.example")
        assert (status, said["location"]) == (301, "https://reef.example/sign-in")
        status, said = running.ask("/sign-in", Host="reef.example", X_Forwarded_Proto="https")
        assert status == 200
        assert "max-age=31536000" in said["strict-transport-security"]
        assert "__Host-csrftoken=" in said["cookies"]
        assert "Secure" in said["cookies"]
        assert running.ask("/healthz", Host="reef.example")[0] in {200, 503}
        assert running.ask("/sign-in", Host="elsewhere.example")[0] == 400


def test_over_a_socket_of_this_machine(home: Path) -> None:
    file = home.parent / "pages.sock"
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(file))
    alone = manage(home, "start", "--listen", f"unix:{file}")
    assert (alone.returncode, alone.stdout) == (1, "")
    assert "Set FRAGINV_PROXY=127.0.0.1." in alone.stderr
    more = {"FRAGINV_HTTPS": "1", "FRAGINV_HOST": "reef.example,localhost"}
    options = ("--no-work", "--listen", f"unix:{file}")
    with started(home, *options, FRAGINV_PROXY="127.0.0.1", **more) as running:
        # Whoever may enter the folder may open it, as the proxy must.
        assert stat.S_IMODE(file.stat().st_mode) == 0o666
        assert running.ask("/sign-in", Host="reef.example")[0] == 301
        assert running.ask("/sign-in", Host="reef.example", X_Forwarded_Proto="https")[0] == 200
        assert "Serving on https://reef.example/" in running.log.read_text()
    assert not file.exists()


def test_a_house_that_is_not_set_up_shows_a_link(tmp_path: Path) -> None:
    with started(tmp_path / "home") as running:
        wait_until(lambda: "/begin/" in running.log.read_text(), running.log)
        link = running.log.read_text().partition("good once: ")[2].split()[0]
        path = link.partition(str(running.port))[2]
        assert running.ask(path)[0] == 200
        assert running.ask(path[:-1])[0] == 404
        assert running.ask("/sign-in")[0] == 503
        kept = b"".join(f.read_bytes() for f in (tmp_path / "home").iterdir() if f.is_file())
        assert path.rpartition("/")[2].encode() not in kept
        access = [line for line in running.log.read_text().splitlines() if '"answered"' in line]
        assert access
        assert not [line for line in access if path.rpartition("/")[2] in line]


def test_a_database_that_is_away_is_said(tmp_path: Path) -> None:
    url = f"postgresql://nobody@127.0.0.1:{free_port()}/reef"
    done = manage(tmp_path / "home", "start", "--no-serve", DATABASE_URL=url)
    assert (done.returncode, done.stdout) == (1, "")
    assert "The database does not answer" in done.stderr
    assert "See that its server runs" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_disk_without_room_is_said(tmp_path: Path) -> None:
    """The kernel refuses every file that grows beyond a limit, as a full disk would."""
    limited = "import resource, os, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096));"
    command = limited + "os.execv(sys.executable, [sys.executable, *sys.argv[1:]])"
    done = subprocess.run(
        [sys.executable, "-c", command, "manage.py", "start", "--no-serve", *FIRST_RUN],
        cwd=settings.BASE_DIR,
        env=environment(tmp_path / "home", FRAGINV_PASSWORD=PASSWORD),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        timeout=SECONDS,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert "CommandError: " in done.stderr
    assert "Traceback" not in done.stderr
