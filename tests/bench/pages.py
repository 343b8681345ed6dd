"""CPU of pages against a bare JSON view: ``python -m tests.bench.pages``.

Product and floor go through the whole WSGI application with all its middleware and
the same cookies, in this process; then once more over gunicorn, where the CPU of the
server's processes counts. The floor asks no database and renders nothing by itself;
what the middleware asks for is in both. A second floor has Django's own middleware
alone. Statements are counted in one request each.
"""

import io
import logging
import os
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection, connections
from django.test import Client, RequestFactory
from django.test.utils import CaptureQueriesContext, override_settings

from tests.bench.measuring import Asked, run
from tests.bench.served import served
from tests.bench.table import Row

MODULE = "tests.bench.pages"
FRAGS, PAGE, HOST = 200, 40, "reef.example.org"
BARE = "/bare"
# A server's CPU is counted in hundredths of a second, so that it needs more of them.
REQUESTS, SERVED_REQUESTS = 40, 150
SCAN_GOAL, LIST_GOAL, STATEMENTS_GOAL = 10.0, 20.0, 6.0

Application = Callable[[dict[str, Any], Callable[..., Any]], Any]


@dataclass(frozen=True)
class Case:
    """One page: what it is, its size, its path, whose cookies ask for it, and the goal."""

    name: str
    size: str
    path: str
    cookies: str
    goal: float


def cases() -> list[Case]:
    """Build a house and return its pages."""
    from fraginv.base.rules.roles import Role

    code, people = built()
    seller, grower = (cookies_of(people[role]) for role in (Role.SELLER, Role.GROWER))
    events = "8 events"
    return [
        Case("scan page, visitor", events, f"/T/{code}", "", SCAN_GOAL),
        Case("scan page, seller", events, f"/T/{code}", seller, SCAN_GOAL),
        Case("scan page, grower", events, f"/T/{code}", grower, SCAN_GOAL),
        Case("list of frags", f"{PAGE} rows", "/frags", grower, LIST_GOAL),
        Case("list of frags for sale", f"{PAGE} rows", "/frags?stage=sale", seller, LIST_GOAL),
    ]


def built() -> tuple[str, dict[Any, Any]]:
    """Fill the house by the project's own actions; return a frag's code and the people."""
    from fraginv.base.actions.founding import add_person, found_organisation
    from fraginv.base.queries.organisation import today
    from fraginv.base.rules.roles import Role
    from fraginv.growth.actions.photos import file_photo
    from fraginv.stock.actions.aside import keep_back
    from fraginv.stock.actions.claims import hold_frag
    from fraginv.stock.actions.grading import grade_frags
    from fraginv.stock.actions.moving import place_frags
    from fraginv.stock.rules.holds import ClaimKind
    from fraginv.trade.actions.pricing import set_price
    from fraginv.trade.queries.prices import get_kind
    from tests.base.test_pictures import make_picture
    from tests.factories import make_colony, make_frags, make_rack

    found_organisation("Tidewater Hall", currency="USD", zone="America/New_York", label_host=HOST)
    people = {
        role: add_person(
            role.value, name=f"Test {role.value}", role=role, password="Three wet mitts 7"
        )
        for role in Role
    }
    owner = people[Role.OWNER]
    long_ago = today() - timedelta(days=90)
    for number in range(FRAGS // 20):
        colony = make_colony(owner)
        set_price(
            2_500 + number, kind=get_kind(), variety=colony.variety, first_day=long_ago, by=owner
        )
        frags = make_frags(owner, 20, colony=colony, day=today() - timedelta(days=60))
        grade_frags([frag.pk for frag in frags], size="M", by=owner)
        place_frags([frag.pk for frag in frags], rack=make_rack(owner), by=owner)
    frag = frags[0]
    for kept in (True, False, True, False):
        keep_back([frag.pk], kept=kept, by=owner)
    file_photo(frag, data=make_picture(), by=owner)
    seller, named = people[Role.SELLER], ClaimKind.NAMED
    hold_frag(frags[1].pk, pieces=1, kind=named, by=seller, for_name="Ines Varga")
    return frag.code_id, people


def cookies_of(person: Any) -> str:
    """Sign somebody in and return the cookies that say so."""
    client = Client()
    client.force_login(person)
    return "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())


def asked_of(application: Application, path: str, cookies: str) -> tuple[str, bytes]:
    """Ask an application for a page as a server does, and read it to its end."""
    environ = RequestFactory().get(path, HTTP_HOST="localhost").environ
    environ |= {"wsgi.input": io.BytesIO(), "HTTP_COOKIE": cookies}
    said: list[str] = []
    answer = application(environ, lambda status, headers, error=None: said.append(status))
    body = b"".join(answer)
    answer.close()
    return said[0], body


def cpu_of(application: Application, path: str, cookies: str) -> float:
    """Return the CPU time of one request in ms, over many.

    Raises: RuntimeError when one is not answered as it should be.
    """
    start = time.process_time()
    answers = [asked_of(application, path, cookies) for _ in range(REQUESTS)]
    taken = (time.process_time() - start) * 1000 / REQUESTS
    refused = {status for status, _ in answers} - {"200 OK"}
    if refused:
        raise RuntimeError(f"{path}: {refused}")
    return taken


def statements_of(application: Application, path: str, cookies: str) -> int:
    """Count the statements of one request.

    Raises: RuntimeError when the page does not answer as it should.
    """
    with CaptureQueriesContext(connection) as caught:
        status, body = asked_of(application, path, cookies)
    if status != "200 OK":
        raise RuntimeError(f"{path}: {status}\n{body.decode()[:2000]}")
    return len(caught)


def applications() -> tuple[Application, Application]:
    """Return the application as it is, and one with Django's own middleware alone."""
    from django.core.handlers.wsgi import WSGIHandler

    from tests.bench.bare import application

    own = [name for name in settings.MIDDLEWARE if name.startswith("django.")]
    with override_settings(MIDDLEWARE=own):
        return application, WSGIHandler()


def write_logs_nowhere() -> None:
    """Let lines of the log be made, and go nowhere, since a terminal would show thousands."""
    nowhere = io.TextIOWrapper(io.FileIO(os.devnull, "w"))
    for name in ("", *logging.root.manager.loggerDict):
        for handler in logging.getLogger(name).handlers:
            if isinstance(handler, logging.StreamHandler):
                handler.setStream(nowhere)


def rows(asked: Asked) -> Iterator[Row]:
    """Measure each page in this process, then all over a real server."""
    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    application, plain = applications()
    write_logs_nowhere()
    found = cases()
    for case in found:
        statements = statements_of(application, case.path, case.cookies)
        turns = [
            (
                cpu_of(application, case.path, case.cookies),
                cpu_of(application, BARE, case.cookies),
                cpu_of(plain, BARE, case.cookies),
            )
            for _ in range(asked.rounds)
        ]
        ours, least, bare = (statistics.median(side) for side in zip(*turns, strict=True))
        yield Row(case.name, case.size, ours, least, case.goal)
        yield Row("the same, floor with Django's middleware alone", case.size, ours, bare)
        yield Row("its statements", case.size, statements, goal=STATEMENTS_GOAL, unit="")
    yield from over_gunicorn(found, rounds=asked.rounds)


def over_gunicorn(found: list[Case], *, rounds: int) -> Iterator[Row]:
    """Measure each page where it is served, floor and product taking turns."""
    connections.close_all()
    log = settings.FRAGINV_HOME / "served.log"
    with served("tests.bench.bare:application", log=log) as server:
        for case in found:
            for path in (case.path, BARE):
                server.cpu_of(path, case.cookies, requests=5)
            turns = [
                [
                    server.cpu_of(path, case.cookies, requests=SERVED_REQUESTS)
                    for path in (case.path, BARE)
                ]
                for _ in range(rounds)
            ]
            ours, least = (statistics.median(side) for side in zip(*turns, strict=True))
            yield Row(f"{case.name}, over gunicorn", case.size, ours, least, case.goal)


if __name__ == "__main__":
    run(MODULE, rows, rounds=9)
