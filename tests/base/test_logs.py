"""What is logged is one JSON object a line, and says nothing about a person."""

import json
import logging
import sys
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from pytest_django import Settings

from fraginv.base.logs import JsonFormatter, TextFormatter, logging_for
from fraginv.base.rules.roles import Role
from tests.browsing import PASSWORD
from tests.conftest import People

ClientFor = Callable[[Role | None], Client]
PLANTED = ("Ida Byrne", "ida@reef.example", "555-0100", "tok-9f3a77", PASSWORD, "hunter-of-plugs")


@pytest.fixture
def lines() -> Iterator[Callable[[], list[dict[str, Any]]]]:
    """Read what was logged so far, as a program would."""
    stream = StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonFormatter())
    watched = [logging.getLogger(name) for name in ("", "django")]
    for logger in watched:
        logger.addHandler(handler)

    def read() -> list[dict[str, Any]]:
        text = stream.getvalue()
        assert not [word for word in PLANTED if word in text], text
        return [json.loads(line) for line in text.splitlines()]

    yield read
    for logger in watched:
        logger.removeHandler(handler)


def test_an_answered_request(client_for: ClientFor, people: People, lines: Any) -> None:
    answer = client_for(Role.GROWER).get("/find?q=Ida+Byrne")
    (line,) = lines()
    assert line.pop("milliseconds") >= 0
    assert line.pop("time").endswith("+00:00")
    assert line == {
        "level": "info",
        "logger": "fraginv.access",
        "message": "answered",
        "request": answer["X-Request-Id"],
        "method": "GET",
        "page": "front:find",
        "pattern": "find",
        "status": answer.status_code,
        "person": people[Role.GROWER].pk,
    }


def test_an_address_is_told_by_its_pattern(client_for: ClientFor, lines: Any) -> None:
    client_for(None).get("/T/7K3Q9FN?from=Ida+Byrne")
    client_for(None).get("/nowhere/tok-9f3a77")
    found, nowhere = lines()
    assert (found["page"], "7K3Q9FN" in json.dumps(found)) == ("front:code", False)
    assert (nowhere["page"], nowhere["status"]) == ("none", 404)


def test_files_that_come_with_every_page_are_told_of_where_they_are_missing(
    client_for: ClientFor, lines: Any, settings: Settings, tmp_path: Path
) -> None:
    (tmp_path / "look.css").write_text("a {}", encoding="utf-8")
    settings.STATIC_ROOT, settings.WHITENOISE_USE_FINDERS = tmp_path, False
    settings.WHITENOISE_AUTOREFRESH = True
    answers = [client_for(None).get(f"/static/{name}.css") for name in ("look", "gone")]
    for answer in answers:
        answer.close()
    assert [answer.status_code for answer in answers] == [200, 404]
    assert [line["status"] for line in lines() if line["message"] == "answered"] == [404]


def test_passwords_and_names_that_were_typed(client_for: ClientFor, lines: Any) -> None:
    form = {"username": "ida@reef.example", "password": PASSWORD}
    for _ in range(3):
        client_for(None).post("/sign-in", form)
    client = Client(enforce_csrf_checks=True)
    client.post("/sign-in", form | {"name": "Ida Byrne"})
    assert {line["status"] for line in lines() if "status" in line} <= {400, 403, 429}


def test_an_error_is_told_by_class_and_place(
    browser_for: ClientFor, lines: Any, broken_list: None
) -> None:
    answer = browser_for(Role.OWNER).get("/frags?q=hunter-of-plugs")
    told = [line for line in lines() if line["level"] == "error"]
    assert len(told) == 1
    assert (told[0]["error"], told[0]["behind"]) == ("builtins.KeyError", ["builtins.ValueError"])
    assert told[0]["message"] == "Internal Server Error"
    assert told[0]["request"] == answer["X-Request-Id"]
    assert any("views/lists.py" in place for place in told[0]["trace"])


@pytest.mark.parametrize(
    ("said", "given", "told"),
    [
        ("Error handling request %s", ("/T/7K3Q9FN?from=Ida",), "Error handling request %s"),
        ("Invalid request from ip=192.0.2.7: 'G /T/7K3Q9FN?a=Ida'", (), "Invalid request"),
        ("Worker (pid:%s) exited with code %s", (41, 3), "Worker (pid:41) exited with code 3"),
        ("Shutting down", (), "Shutting down"),
    ],
)
def test_what_the_application_server_says(said: str, given: tuple[object, ...], told: str) -> None:
    record = logging.LogRecord("gunicorn.error", logging.ERROR, "x.py", 1, said, given, None)
    assert json.loads(JsonFormatter().format(record))["message"] == told
    assert logging_for("INFO", at_terminal=False)["loggers"]["gunicorn.error"]["handlers"]


def test_for_somebody_at_a_terminal() -> None:
    try:
        raise KeyError("Ida Byrne")
    except KeyError:
        record = logging.LogRecord(
            "fraginv.front.working", logging.WARNING, __file__, 1, "%s failed.", ("Mail",),
            sys.exc_info(),
        )  # fmt: skip
    text = TextFormatter().format(record)
    assert text.startswith("WARNING fraginv.front.working: Mail failed. (builtins.KeyError)")
    assert "Ida Byrne" not in text


@pytest.mark.parametrize(
    ("level", "root", "access"),
    [("DEBUG", "DEBUG", "INFO"), ("WARNING", "WARNING", "INFO"), ("ERROR", "ERROR", "ERROR")],
)
def test_what_is_logged_at_least(level: str, root: str, access: str) -> None:
    made = logging_for(level, at_terminal=False)
    assert made["root"]["level"] == root
    assert made["loggers"]["fraginv.access"]["level"] == access
    assert made["handlers"]["stderr"]["formatter"] == "json"
