"""Commands as people run them: processes of their own, in homes of their own."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from http.client import HTTPConnection
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from django.conf import settings

PASSWORD = "plug-water-lamp-9"
SERVED_SECONDS = 240


@dataclass(frozen=True)
class Ran:
    """What a command left behind: its exit status and what it said."""

    status: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Return the one JSON document that it printed."""
        return json.loads(self.out)


@dataclass(frozen=True)
class Line:
    """The command line of one home."""

    home: Path
    environment: Mapping[str, str] = field(default_factory=dict)

    def variables(self) -> dict[str, str]:
        """Return the environment without what the tests themselves run with."""
        kept = {
            name: value
            for name, value in os.environ.items()
            if name not in {"DATABASE_URL", "DJANGO_ALLOW_ASYNC_UNSAFE"}
            and not name.startswith("FRAGINV_")
        }
        return {**kept, "FRAGINV_HOME": str(self.home), **self.environment}

    def __call__(self, *arguments: str | Path, **more: str) -> Ran:
        """Run one command to its end, with nobody at the terminal."""
        done = subprocess.run(
            [sys.executable, "manage.py", *map(str, arguments)],
            cwd=settings.BASE_DIR,
            env=self.variables() | more,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    def python(self, code: str) -> str:
        """Run lines of Python on this home, as another program would; return what they print."""
        done = subprocess.run(
            [sys.executable, "-c", f"import django\ndjango.setup()\n{code}"],
            cwd=settings.BASE_DIR,
            env=self.variables() | {"DJANGO_SETTINGS_MODULE": "fraginv.settings"},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def told(self, *arguments: str | Path, **more: str) -> Any:
        """Run a command that must succeed, and return its JSON document."""
        ran = self(*arguments, "--json", **more)
        assert ran.status == 0, ran.err
        return ran.document

    @contextmanager
    def serving(self, *arguments: str, port: int) -> Iterator[Path]:
        """Run a command that serves until the block ends; yield the file with what it printed."""
        out, err = self.home / "served.out", self.home / "served.err"
        with out.open("wb") as output, err.open("wb") as errors:
            process = subprocess.Popen(
                [sys.executable, "manage.py", *arguments, "--port", str(port)],
                cwd=settings.BASE_DIR,
                env=self.variables(),
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=errors,
            )
        try:
            wait_until_served(process, port=port, err=err)
            yield out
        finally:
            process.terminate()
            process.wait(timeout=30)


def wait_until_served(process: "subprocess.Popen[bytes]", *, port: int, err: Path) -> None:
    """Wait until the sign-in page is there, or fail with what the command said."""
    until = time.monotonic() + SERVED_SECONDS
    while time.monotonic() < until and process.poll() is None:
        try:
            if Visitor(port).get("/sign-in")[0] == 200:
                return
        except OSError:
            time.sleep(0.2)
    raise AssertionError(f"Nothing is served:\n{err.read_text(errors='replace')}")


class Visitor:
    """Somebody with a browser that keeps cookies."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookies: SimpleCookie = SimpleCookie()

    def get(self, path: str) -> tuple[int, str]:
        """Open a page; return its status and its text."""
        status, _, text = self.ask("GET", path)
        return status, text

    def post(self, path: str, **fields: str) -> tuple[int, str]:
        """Send a form with the token of the last page; return the status and where to go."""
        token = self.cookies["csrftoken"].value
        body = urlencode({"csrfmiddlewaretoken": token} | fields)
        status, location, _ = self.ask("POST", path, body)
        return status, location

    def ask(self, method: str, path: str, body: str = "") -> tuple[int, str, str]:
        """Send one request; return status, where to go, and text."""
        headers = {"Content-Type": "application/x-www-form-urlencoded"} if body else {}
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{n}={m.value}" for n, m in self.cookies.items())
        call = HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            call.request(method, path, body or None, headers)
            answer = call.getresponse()
            text = answer.read().decode("utf-8", errors="replace")
            for cookie in answer.headers.get_all("Set-Cookie") or []:
                self.cookies.load(cookie)
            return answer.status, answer.getheader("Location", ""), text
        finally:
            call.close()


def listing(folder: Path) -> dict[str, str]:
    """Return every file under a folder with the hash of its content, and every folder.

    SQLite's own files beside a database come and go with whoever reads it.
    """
    return {
        str(one.relative_to(folder)): sha256(one.read_bytes()).hexdigest() if one.is_file() else ""
        for one in sorted(folder.rglob("*"))
        if not one.name.endswith(("-wal", "-shm"))
    }
