"""A real application server with several processes, and clients that talk HTTP to it."""

import os
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from socket import socket
from urllib.parse import quote, urlencode

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection

from fraginv.base.models import Person

START_SECONDS = 40
BACKEND = "django.contrib.auth.backends.ModelBackend"
TOKEN = "t" * 32


def database_url() -> str:
    """Return the address of the tests' database for another process."""
    row = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{row['NAME']}"
    host = quote(str(row["HOST"]), safe="")
    return f"postgresql://{row['USER']}@{host}/{row['NAME']}"


def free_port() -> int:
    """Return a port of the loopback address that nobody listens on."""
    with socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def serving(
    *, workers: int, threads: int = 4, application: str = "fraginv.wsgi:application"
) -> Iterator[int]:
    """Serve the tests' database with that many processes; yield the port."""
    environment = os.environ | {
        "FRAGINV_HOME": str(settings.FRAGINV_HOME),
        "DATABASE_URL": database_url(),
    }
    root = str(settings.BASE_DIR)
    subprocess.run(
        [sys.executable, "manage.py", "collectstatic", "--no-input", "-v0"],
        cwd=root,
        env=environment,
        check=True,
    )
    port = free_port()
    log = Path(settings.FRAGINV_HOME) / "served.log"
    with log.open("wb") as output:
        server = subprocess.Popen(
            [
                *(sys.executable, "-m", "gunicorn", application),
                f"--bind=127.0.0.1:{port}",
                f"--workers={workers}",
                f"--threads={threads}",
                "--log-level=warning",
            ],
            cwd=root,
            env=environment,
            stdout=output,
            stderr=output,
        )
    try:
        wait_for(port, server, log=log)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=30)
        sys.stderr.write(log.read_text(errors="replace"))


def wait_for(port: int, server: "subprocess.Popen[bytes]", *, log: Path) -> None:
    """Wait until the server answers, or fail with what it wrote."""
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until and server.poll() is None:
        call = HTTPConnection("127.0.0.1", port, timeout=5)
        try:
            call.request("GET", "/sign-in")
            with call.getresponse() as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.1)
        finally:
            call.close()
    raise AssertionError(f"The server did not start:\n{log.read_text(errors='replace')}")


@dataclass
class Answered:
    """What the server said: status, where to go next, and the page."""

    status: int
    location: str
    text: str


class Caller:
    """One signed-in person at one phone."""

    def __init__(self, person: Person, *, port: int) -> None:
        self.port = port
        session = SessionStore()
        session[SESSION_KEY] = str(person.pk)
        session[BACKEND_SESSION_KEY] = BACKEND
        session[HASH_SESSION_KEY] = person.get_session_auth_hash()
        session.save()
        self.cookie = f"sessionid={session.session_key}; csrftoken={TOKEN}"

    def get(self, path: str) -> Answered:
        """Ask for a page."""
        return self.ask("GET", path, headers={"Cookie": self.cookie})

    def post(self, path: str, fields: Mapping[str, object], *, key: str = "") -> Answered:
        """Send a form once, with a replay key of its own unless one is given."""
        sent = {**fields, "csrfmiddlewaretoken": TOKEN, "replay_key": key or str(uuid.uuid4())}
        headers = {
            "Cookie": self.cookie,
            "Content-Type": "application/x-www-form-urlencoded",
        }
        return self.ask("POST", path, body=urlencode(sent, doseq=True), headers=headers)

    def ask(
        self, method: str, path: str, *, body: str | None = None, headers: Mapping[str, str]
    ) -> Answered:
        """Call the server once."""
        call = HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            call.request(method, path, body, dict(headers))
            with call.getresponse() as answer:
                text = answer.read().decode("utf-8", errors="replace")
                return Answered(answer.status, answer.getheader("Location", ""), text)
        finally:
            call.close()
