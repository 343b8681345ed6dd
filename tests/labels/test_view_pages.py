"""What all pages about labels have in common: who may, what is not there, and what they cost."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.labels.actions.lost import mark_label_lost
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import add_printer, add_stock, adjust_stock
from fraginv.labels.models import Printer, PrintRun
from fraginv.labels.rules.measures import roll_measures
from tests.conftest import People
from tests.factories import make_frags

ClientFor = Callable[[Role | None], Client]
BAG = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)
LISTS = ("/labels/lost", "/labels/rolls", "/labels/runs", "/labels/stocks")
PAGES = (
    *LISTS,
    *("/labels/", "/labels/blank", "/labels/stocks/add", "/labels/printers/add"),
    *(
        "/labels/runs/{run}",
        "/labels/runs/{run}.pdf",
        "/labels/rolls/1",
        "/labels/stocks/bag-80x50-0",
    ),
    *("/labels/stocks/a4-63.5x33.9", "/labels/printers/{printer}"),
    *("/labels/printers/{printer}/check.pdf", "/labels/card", "/labels/card.pdf"),
)
# SQL statements of each page, those of signing in and of the frame around it included.
MOST = {
    **{"/labels/lost": 8, "/labels/rolls": 6, "/labels/runs": 4, "/labels/stocks": 6},
    **{"/labels/": 7, "/labels/blank": 6, "/labels/stocks/add": 3, "/labels/printers/add": 3},
    **{"/labels/runs/{run}": 5, "/labels/runs/{run}.pdf": 7, "/labels/rolls/1": 5},
    **{"/labels/stocks/bag-80x50-0": 6, "/labels/stocks/a4-63.5x33.9": 5},
    **{"/labels/printers/{printer}": 6, "/labels/printers/{printer}/check.pdf": 6},
    **{"/labels/card": 4, "/labels/card.pdf": 3},
}


def fill(by: Person, *, count: int) -> dict[str, int]:
    """Make so many of each thing that pages list; return what addresses are made of."""
    frags = make_frags(by, count)
    for number in range(count):
        start_run((), blank=2, by=by)
        add_stock(f"bag-80x50-{number}", measures=BAG, form="bag", by=by)
        printer = add_printer(f"Printer {number}", by=by)
        adjust_stock(f"bag-80x50-{number}", printer_id=printer.pk, by=by)
    mark_label_lost([frag.code_id for frag in frags], by=by)
    return {
        "printer": Printer.objects.latest("pk").pk,
        "run": PrintRun.objects.earliest("pk").pk,
    }


@pytest.mark.parametrize("count", [1, 10])
def test_pages_ask_few_statements_however_much_there_is(
    client_for: ClientFor,
    people: People,
    count: int,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    made = fill(people[Role.GROWER], count=count)
    client = client_for(Role.GROWER)
    for page, most in MOST.items():
        with django_assert_max_num_queries(most):
            assert client.get(page.format(**made)).status_code == 200, page


@pytest.mark.parametrize("page", PAGES)
def test_growers_and_sellers_see_it_readers_and_strangers_do_not(
    client_for: ClientFor, people: People, page: str
) -> None:
    path = page.format(**fill(people[Role.GROWER], count=1))
    for role in (Role.GROWER, Role.SELLER, Role.MANAGER, Role.OWNER):
        assert client_for(role).get(path).status_code == 200
    assert client_for(Role.READER).get(path).status_code == 403
    stranger = client_for(None).get(path)
    assert stranger.status_code == 302
    assert stranger["Location"].startswith("/sign-in")


@pytest.mark.parametrize(
    "path",
    [
        *("/labels/runs/99", "/labels/rolls/99", "/labels/stocks/none", "/labels/printers/99"),
        *("/labels/printers/99/check.pdf", "/labels/runs/x", "/labels/printers/x"),
        *("/labels/runs?after=99", "/labels/lost?after=99", "/labels/stocks/none/adjust"),
    ],
)
def test_what_is_not_there_is_said(client_for: ClientFor, people: People, path: str) -> None:
    answer = client_for(Role.GROWER).get(path)
    assert answer.status_code in {403, 404}


@pytest.mark.parametrize("path", ["/labels/runs", "/labels/lost", "/labels/rolls"])
def test_a_page_that_nobody_was_given_is_refused(
    client_for: ClientFor, people: People, path: str
) -> None:
    assert client_for(Role.GROWER).get(f"{path}?after=x").status_code == 400


@pytest.mark.parametrize("path", LISTS)
def test_an_empty_page_says_what_to_do_next(
    client_for: ClientFor, people: People, path: str
) -> None:
    text = client_for(Role.GROWER).get(path).content.decode()
    assert 'class="empty"' in text


@pytest.mark.parametrize(
    "path",
    [
        *("/labels/lost/found", "/labels/stocks/bag-80x50-0/withdraw"),
        *("/labels/stocks/bag-80x50-0/adjust", "/labels/printers/{printer}/withdraw"),
        *("/labels/rolls/1", "/labels/runs/{run}", "/labels/lost", "/labels/stocks/add"),
    ],
)
def test_nothing_is_written_without_a_right_or_a_key(
    client_for: ClientFor, people: People, path: str
) -> None:
    url = path.format(**fill(people[Role.GROWER], count=1))
    assert client_for(Role.READER).post(url, {}).status_code == 403
    assert client_for(None).post(url, {}).status_code == 302
    assert client_for(Role.GROWER).post(url, {}).status_code == 400
