"""The first start: what it refuses, and that the owner can sign in afterwards."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from fraginv.base.home import signing_key
from tests.front.running import PASSWORD, Line, Visitor
from tests.serving import free_port

pytestmark = [pytest.mark.own_home, pytest.mark.xdist_group("start")]
ASKED = {
    "--organisation": "Tidewater Hall",
    "--currency": "USD",
    "--zone": "America/New_York",
    "--owner": "Mira Holt",
}


@pytest.fixture
def line(tmp_path: Path) -> Line:
    """A home in which nothing has been started yet."""
    signing_key(tmp_path / "home")
    return Line(tmp_path / "home", {"FRAGINV_PASSWORD": PASSWORD})


def options(**changes: str) -> list[str]:
    """Return the options of a first start with some changed; an empty one is left out."""
    asked = ASKED | {f"--{name.replace('_', '-')}": value for name, value in changes.items()}
    return [part for name, value in asked.items() if value for part in (name, value)]


def people_and_houses(line: Line) -> tuple[int, int]:
    """Count who may sign in, and organisations."""
    with closing(sqlite3.connect(line.home / "fraginv.sqlite3")) as database:
        (people,) = database.execute("SELECT count(*) FROM base_person").fetchone()
        (houses,) = database.execute("SELECT count(*) FROM base_organisation").fetchone()
    return people, houses


def test_a_first_start_that_lacks_something_says_what(line: Line) -> None:
    for changes, password, said in (
        ({"currency": "QQQ"}, PASSWORD, "QQQ is not a currency"),
        ({"zone": "Atlantis/Deep"}, PASSWORD, "'Atlantis/Deep' is no time zone"),
        ({"owner": "…"}, PASSWORD, "gives no sign-in name"),
        ({"owner": ""}, PASSWORD, "Give it with --owner"),
        ({"organisation": "x" * 121}, PASSWORD, "name: "),
        ({"label_host": "no host"}, PASSWORD, "'NO HOST' is no host for labels"),
        ({}, "short", "too short"),
        ({}, "", "Give it in FRAGINV_PASSWORD"),
    ):
        ran = line("start", "--no-serve", "--json", *options(**changes), FRAGINV_PASSWORD=password)
        assert (ran.status, ran.out) == (1, ""), changes
        assert said in ran.err
        assert "Traceback" not in ran.err
        assert people_and_houses(line) == (0, 0)


def test_the_owner_signs_in_where_it_is_served(line: Line) -> None:
    port = free_port()
    with line.serving("start", *options(), port=port) as out:
        told = out.read_text(encoding="utf-8")
        assert "Mira Holt signs in as mira.holt." in told
        assert f"Serving on http://127.0.0.1:{port}/" in told
        assert PASSWORD not in told
        visitor = Visitor(port)
        assert "Walk in as" not in visitor.get("/sign-in")[1]
        # Only the demo lets people in without a password.
        assert visitor.post("/sign-in", demo="mira.holt")[0] == 400
        assert visitor.post("/sign-in", username="mira.holt", password="wrong-one-9")[0] == 400
        # An owner is asked for a second step first, and may leave it for later.
        offered = (303, "/me/second-step?next=%2F")
        assert visitor.post("/sign-in", username="Mira.Holt", password=PASSWORD) == offered
        status, page = visitor.get("/")
        assert (status, "Mira Holt" in page) == (200, True)
    assert people_and_houses(line) == (1, 1)
