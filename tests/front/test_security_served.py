"""What the real application server does with what no browser would send, over real HTTP."""

import re
import socket
from collections.abc import Iterable
from pathlib import Path
from select import select
from typing import NamedTuple

import pytest
from django.conf import settings

from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path
from fraginv.base.rules.roles import Role
from fraginv.base.throttle import ALLOWANCE, MISS
from tests.conftest import People
from tests.factories import make_lot
from tests.serving import TOKEN, Caller, serving

MEGABYTE = 1024 * 1024
PIECE = b"x" * (64 * 1024)
BOUNDARY = "reef"
FIELDS = {"csrfmiddlewaretoken": TOKEN, "replay_key": "5b0c5a5e-3f0e-4c39-9a0b-5a6f8a8f1c11"}


class Seen(NamedTuple):
    """One exchange: the answer, and the most that lay in the temporary folder meanwhile."""

    status: int
    headers: str
    text: str
    temporary: int


def opening() -> bytes:
    """Return the start of a form with a file in it."""
    parts = [
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in FIELDS.items()
    ]
    file = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="picture"; filename="a.jpg"\r\n'
    return "".join([*parts, file, "Content-Type: image/jpeg\r\n\r\n"]).encode()


def closing() -> bytes:
    return f"\r\n--{BOUNDARY}--\r\n".encode()


class Wire:
    """Raw requests to one server, whose temporary folder is watched."""

    def __init__(self, port: int, *, folder: Path, person: Person) -> None:
        self.port, self.folder = port, folder
        self.cookie = Caller(person, port=port).cookie

    def held(self) -> int:
        """Return how many bytes lie in the server's temporary folder."""
        return sum(file.stat().st_size for file in self.folder.rglob("*") if file.is_file())

    def send(self, head: str, body: Iterable[bytes] = ()) -> Seen:
        """Send a request as it is, until the server answers or hangs up."""
        answer, most = b"", 0
        with socket.create_connection(("127.0.0.1", self.port), timeout=20) as line:
            line.sendall(head.encode("latin-1"))
            for count, piece in enumerate(body):
                if select([line], [], [], 0)[0]:
                    break
                try:
                    line.sendall(piece)
                except OSError:
                    break
                if count % 32 == 0:
                    most = max(most, self.held())
            most = max(most, self.held())
            while True:
                try:
                    got = line.recv(64 * 1024)
                except ConnectionResetError:
                    break
                if not got:
                    break
                answer += got
        top, _, rest = answer.partition(b"\r\n\r\n")
        status = int(top.split()[1]) if top else 0
        return Seen(status, top.decode("latin-1"), rest.decode(errors="replace"), most)

    def ask(self, path: str, *, method: str = "GET", more: str = "", cookie: bool = False) -> Seen:
        """Ask for one page and hang up."""
        known = f"Cookie: {self.cookie}\r\n" if cookie else ""
        host = "" if "Host:" in more else "Host: localhost\r\n"
        return self.send(
            f"{method} {path} HTTP/1.1\r\n{host}{known}{more}Connection: close\r\n\r\n"
        )

    def upload(self, path: str, *, claim: int, size: int, chunked: bool = False) -> Seen:
        """Send a file of ``size`` bytes in a form that says it has ``claim`` bytes."""
        length = "Transfer-Encoding: chunked" if chunked else f"Content-Length: {claim}"
        head = (
            f"POST {path} HTTP/1.1\r\nHost: localhost\r\nCookie: {self.cookie}\r\n"
            f"Content-Type: multipart/form-data; boundary={BOUNDARY}\r\n{length}\r\n"
            "Connection: close\r\n\r\n"
        )
        many = (size - len(opening()) - len(closing())) // len(PIECE)
        rest = size - many * len(PIECE) - len(opening()) - len(closing())
        pieces = [opening(), *([PIECE] * many), b"x" * rest, closing()]
        if chunked:
            pieces = [b"%x\r\n%b\r\n" % (len(one), one) for one in pieces] + [b"0\r\n\r\n"]
        return self.send(head, pieces)


def worker_of(port: int) -> int:
    """Return the process that serves the pages of a port."""
    mark, found = f"--bind=127.0.0.1:{port}".encode(), []
    for folder in Path("/proc").iterdir():
        try:
            if folder.name.isdigit() and mark in (folder / "cmdline").read_bytes():
                found.append(int(folder.name))
        except OSError:
            continue
    parents = {parent_of(one) for one in found}
    return next(one for one in found if one not in parents)


def parent_of(process: int) -> int:
    return int(kept(process, "PPid"))


def kept(process: int, name: str) -> str:
    """Return what the system says of a process under a name."""
    text = Path(f"/proc/{process}/status").read_text()
    found = re.search(rf"^{name}:\s+(\d+)", text, re.MULTILINE)
    assert found, text
    return found[1]


def peak(process: int) -> int:
    """Return the most memory that a process has had, in bytes."""
    return int(kept(process, "VmHWM")) * 1024


@pytest.mark.django_db(transaction=True)
def test_what_no_browser_sends(
    people: People, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setenv("TMPDIR", str(folder))
    grower = people[Role.GROWER]
    lot = make_lot(grower, 5)
    with serving(workers=1) as port:
        wire = Wire(port, folder=folder, person=grower)
        floods_are_refused(wire, f"/photos/of/{lot.code_id}/add", worker_of(port))
        odd_requests_are_refused(wire)
        files_of_the_house_stay_inside(wire)
        static_files_say_what_they_are(wire)
        strangers_are_throttled(wire, address_path(lot.code_id))


def floods_are_refused(wire: Wire, path: str, worker: int) -> None:
    """Send too much in every way; neither memory nor disk takes it in."""
    # What may be sent is seen by the same measure, in a file, and is then no picture.
    taken = wire.upload(path, claim=20 * MEGABYTE, size=20 * MEGABYTE)
    assert (taken.status, taken.temporary > 4 * MEGABYTE) == (400, True)
    assert "no picture" in taken.text
    assert wire.held() == 0
    before = peak(worker)
    for claim, size, chunked, status in (
        (2 * 1024 * MEGABYTE, 60 * MEGABYTE, False, 413),
        (60 * MEGABYTE, 60 * MEGABYTE, False, 413),
        (0, 60 * MEGABYTE, True, 411),
        (10**30, MEGABYTE, False, 413),
    ):
        seen = wire.upload(path, claim=claim, size=size, chunked=chunked)
        assert (seen.status, seen.temporary) == (status, 0), (claim, seen.headers, seen.text[:300])
    assert peak(worker) - before < 16 * MEGABYTE
    said = wire.upload(path, claim=60 * MEGABYTE, size=60 * MEGABYTE).text
    assert "has 60 MB; at most 25 MB are taken at once" in said
    assert wire.ask("/stock/places", cookie=True).status == 200


def odd_requests_are_refused(wire: Wire) -> None:
    """Send headers that are too large, doubled, or for another house."""
    for more in (
        f"X-Long: {'x' * 100_000}\r\n",
        "X-Many: 1\r\n" * 200,
        "Host: reef.evil.test\r\n",
        "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n",
        "Content-Length: 5\r\nContent-Length: 6\r\n",
    ):
        assert 400 <= wire.ask("/sign-in", more=more, method="POST").status < 500, more[:40]
    assert 400 <= wire.ask(f"/find?q={'x' * 10_000}").status < 500
    for method in ("TRACE", "CONNECT", "PROPFIND"):
        seen = wire.ask("/sign-in", method=method, cookie=True)
        assert 400 <= seen.status < 500
        assert wire.cookie not in seen.text


def files_of_the_house_stay_inside(wire: Wire) -> None:
    """Ask for files by every kind of path; none is answered with one."""
    key = (Path(settings.FRAGINV_HOME) / "signing.key").read_text(encoding="ascii").strip()
    for path in (
        *("/static/", "/static/../signing.key", "/static/%2e%2e/signing.key"),
        *("/static/..%2fsigning.key", "/signing.key", "/.git/config", "/media/", "/private/"),
        *("/photos/../../../../etc/passwd", "//etc/passwd", "/photos/1-x/../../240.jpg"),
        *("/%2e%2e/%2e%2e/etc/passwd", "/static/css/..\\..\\signing.key", "/var/fraginv.sqlite3"),
    ):
        for cookie in (True, False):
            seen = wire.ask(path, cookie=cookie)
            assert 300 <= seen.status < 500, (path, seen.status)
            assert key not in seen.text
            assert "root:" not in seen.text
            assert "Location: /sign-in" in seen.headers or seen.status >= 400


def static_files_say_what_they_are(wire: Wire) -> None:
    """Look at a static file under its name with its content's mark."""
    page = wire.ask("/sign-in")
    found = re.search(r'href="(/static/css/app\.[0-9a-f]{12}\.css)"', page.text)
    assert found, page.text[:600]
    seen = wire.ask(found[1])
    assert seen.status == 200
    for header in (
        r"Cache-Control: max-age=\d{8,}, public, immutable",
        r"Content-Type: text/css; charset=\"?utf-8",
        r"X-Content-Type-Options: nosniff",
        r"Content-Security-Policy: .*frame-ancestors 'none'",
        r"Cross-Origin-Resource-Policy: same-origin",
    ):
        assert re.search(header, seen.headers), (header, seen.headers)
    for told in ("Access-Control-Allow-Origin", "X-Powered-By", "Set-Cookie"):
        assert told not in seen.headers


def strangers_are_throttled(wire: Wire, own: str) -> None:
    """Try codes out until the minute's allowance is used up; the crew goes on."""
    statuses = []
    # A minute may end meanwhile, and then the count begins anew: once at most.
    for _ in range(2 * ALLOWANCE // MISS + 2):
        seen = wire.ask("/T/7K3Q9FN")
        statuses.append(seen.status)
        if seen.status == 429:
            break
    assert set(statuses) == {404, 429}
    assert re.search(r"Retry-After: [1-9]", seen.headers)
    assert "Very many pages were opened" in seen.text
    assert wire.ask(own, cookie=True).status == 200
