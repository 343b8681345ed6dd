"""Commands as processes of their own, in a home of their own: status, streams, serving."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest
from django.conf import settings

from tests.browsing import PASSWORD
from tests.serving import free_port

pytestmark = [pytest.mark.own_home, pytest.mark.xdist_group("command start")]
FIRST_RUN = (
    "--organisation", "Tidewater Hall", "--currency", "USD", "--zone", "America/New_York",
    "--owner", "Mira Holt",
)  # fmt: skip
SECONDS = 60


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


def environment(home: Path, **more: str) -> dict[str, str]:
    """Return an environment with nothing of the tests' own database."""
    plain = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    return plain | {"FRAGINV_HOME": str(home), "PYTHONWARNINGS": "ignore"} | more


def manage(home: Path, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a command where nobody sits at the terminal."""
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=settings.BASE_DIR,
        env=environment(home, **more),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=SECONDS,
        check=False,
    )


def test_first_run_asks_is_answered_by_options_and_is_not_asked_again(home: Path) -> None:
    before = manage(home, "cut", "--colony", "7K3-Q9F-N", "--pieces", "1")
    assert (before.returncode, before.stdout) == (1, "")
    assert "manage.py start" in before.stderr

    asked = manage(home, "start", "--no-serve")
    assert (asked.returncode, asked.stdout) == (1, "")
    assert "Name of the organisation is missing. Give it with --organisation." in asked.stderr

    weak = manage(home, "start", "--no-serve", *FIRST_RUN, FRAGINV_PASSWORD="reef")
    assert weak.returncode == 1
    assert "too short" in weak.stderr

    made = manage(home, "start", "--no-serve", "--json", *FIRST_RUN, FRAGINV_PASSWORD=PASSWORD)
    assert (made.returncode, made.stderr) == (0, "")
    assert json.loads(made.stdout) == {
        "home": str(home),
        "organisation": "Tidewater Hall",
        "owner": "mira.holt",
        "url": None,
        "begin": None,
    }
    again = manage(home, "start", "--no-serve", "--json")
    assert again.returncode == 0
    assert json.loads(again.stdout)["organisation"] is None


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with an organisation and its owner."""
    home = tmp_path_factory.mktemp("ready") / "home"
    made = manage(home, "start", "--no-serve", *FIRST_RUN, FRAGINV_PASSWORD=PASSWORD)
    assert made.returncode == 0, made.stderr
    return home


def test_status_and_streams(ready: Path, tmp_path: Path) -> None:
    file = tmp_path / "varieties.csv"
    file.write_text("name,genus\nHarbour Lantern,Acropora\n", encoding="utf-8")
    loaded = manage(ready, "load", "varieties", str(file), "--json")
    assert (loaded.returncode, loaded.stderr) == (0, "")
    assert json.loads(loaded.stdout)["rows"] == 1
    twice = manage(ready, "load", "varieties", str(file), "--json")
    assert (twice.returncode, twice.stdout) == (1, "")
    assert "These very rows were brought in on" in twice.stderr
    file.write_text("genus,name\nAcropora,harbour lantern\n", encoding="utf-8")
    other = manage(ready, "load", "varieties", str(file), "--json")
    assert (other.returncode, other.stdout) == (1, "")
    assert "line 2, name: there is a variety harbour lantern already" in other.stderr
    unread = manage(ready, "cut", "--pieces", "many")
    assert (unread.returncode, unread.stdout) == (1, "")
    agrees = manage(ready, "verify", "--json")
    assert (agrees.returncode, json.loads(agrees.stdout)) == (0, {"differences": []})


@pytest.fixture
def port(ready: Path) -> Iterator[int]:
    """A server that was started as for real use."""
    port = free_port()
    with subprocess.Popen(
        [sys.executable, "manage.py", "start", "--port", str(port)],
        cwd=settings.BASE_DIR,
        env=environment(ready),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    ) as server:
        try:
            wait_for(port)
            yield port
        finally:
            server.terminate()
            server.wait(timeout=SECONDS)


def wait_for(port: int) -> None:
    """Wait until somebody answers on a port."""
    end = time.monotonic() + SECONDS
    while time.monotonic() < end:
        try:
            fetch(port, "/sign-in")
        except ConnectionRefusedError:
            time.sleep(0.2)
        else:
            return
    raise TimeoutError(f"Nobody answers on port {port}.")


def fetch(port: int, path: str) -> tuple[int, str]:
    """Get a page; return status and text."""
    connection = HTTPConnection("127.0.0.1", port, timeout=SECONDS)
    try:
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()


def test_it_serves_pages_and_their_files(ready: Path, port: int, tmp_path: Path) -> None:
    status, page = fetch(port, "/sign-in")
    assert (status, "Tidewater Hall" in page) == (200, True)
    style = page.partition('rel="stylesheet" href="')[2].partition('"')[0]
    assert style.startswith("/static/css/app.")
    assert fetch(port, style)[0] == 200
    taken = manage(tmp_path / "other", "start", "--port", str(port))
    assert taken.returncode == 1
    assert f"Port {port} cannot be used: Address already in use" in taken.stderr


@pytest.mark.parametrize("port", ["0", "70000"])
def test_ports_that_are_none(home: Path, port: str) -> None:
    refused = manage(home, "start", "--port", port)
    assert refused.returncode == 1
    assert f"{port} is no port" in refused.stderr
    assert not (home / "fraginv.sqlite3").exists()
