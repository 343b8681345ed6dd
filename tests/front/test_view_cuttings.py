"""The list of cuttings: narrowed, in pages, taken out."""

import csv
import io
import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.queries.looking import look
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.roles import Role
from fraginv.base.show import show_day
from fraginv.front.queries.cutting_lists import ORDER, parts_of, read_whole
from fraginv.front.rules.cutting_filters import WORDS, CuttingFilter, days_words, filter_words
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.models import Cutting
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
Fits = Callable[[Cutting], bool]
PAGES = ("/cuttings", "/cuttings/narrow", "/cuttings.csv", "/cuttings.xlsx")


@pytest.fixture
def cuttings(people: People) -> list[Cutting]:
    """Thirty cuttings of three colonies by two people, the latest first."""
    grower, owner = people[Role.GROWER], people[Role.OWNER]
    for number, (name, genus) in enumerate(
        [("Pier Moss", "Zoanthus"), ("Ember", "Acropora"), ("Harbour Ember", "Acropora")]
    ):
        colony = make_colony(grower, variety=make_variety(grower, name=name, genus=genus))
        for age in range(100, 0, -10):
            cut_colony(
                colony.pk,
                pieces=3,
                by=owner if age % 20 else grower,
                day=today() - timedelta(days=age + number),
                lot=age % 30 == 0,
                lost=1 if age % 40 == 0 else 0,
                medium="disc" if age == 50 else "plug",
            )
    return list(Cutting.objects.select_related("colony__variety").order_by(*ORDER))


def cases(cuttings: list[Cutting]) -> Iterator[tuple[CuttingFilter, Fits]]:
    """Yield what is asked, and the same written out by hand."""
    one = cuttings[0]
    ago = today() - timedelta(days=40)
    yield CuttingFilter(), lambda _: True
    yield CuttingFilter(colony=one.colony.code_id), lambda cut: cut.colony_id == one.colony_id
    yield CuttingFilter(by=one.by_id), lambda cut: cut.by_id == one.by_id
    yield CuttingFilter(text="ember"), lambda cut: "Ember" in cut.colony.variety.name
    yield CuttingFilter(group="zoanthid"), lambda cut: cut.colony.variety.group == "zoanthid"
    yield CuttingFilter(group="clam"), lambda cut: False
    yield CuttingFilter(first=ago), lambda cut: cut.day >= ago
    yield (
        CuttingFilter(last=ago, lot="yes", text="ember"),
        lambda cut: cut.day <= ago and cut.as_lot and "Ember" in cut.colony.variety.name,
    )
    yield CuttingFilter(lost="yes"), lambda cut: cut.lost > 0
    yield CuttingFilter(medium="disc", lost="no"), lambda c: c.medium == "disc" and c.lost == 0
    yield CuttingFilter(rest="yes"), lambda cut: bool(cut.despite_rest)
    yield (
        CuttingFilter(variety=one.colony.variety_id, by=one.by_id, rest="no"),
        lambda cut: cut.colony_id == one.colony_id and cut.by_id == one.by_id,
    )


def in_pages(asked: CuttingFilter, *, size: int, bound: int) -> list[int]:
    """Go through all pages of a list; return the cuttings on them."""
    found: list[int] = []
    after: int | None = None
    for _ in range(100):
        page = look(
            read_whole(), parts=parts_of(asked), order=ORDER, size=size, after=after, bound=bound
        )
        found += [cutting.pk for cutting in page.rows]
        after = page.after
        if after is None:
            return found
    raise AssertionError("The list does not end.")


def test_pages_hold_what_fits_and_nothing_else(cuttings: list[Cutting]) -> None:
    for asked, fits in cases(cuttings):
        wanted = [cutting.pk for cutting in cuttings if fits(cutting)]
        for size, bound in ((2, 2), (7, 12), (50, 500)):
            assert in_pages(asked, size=size, bound=bound) == wanted, asked


def days_on(client: Client, path: str) -> int:
    return len(re.findall(r'list__link" href="/cuttings/\d+"', client.get(path).content.decode()))


def test_the_page_and_its_file(client_for: ClientFor, cuttings: list[Cutting]) -> None:
    client = client_for(Role.READER)
    assert days_on(client, "/cuttings") == len(cuttings)
    day = cuttings[3].day.isoformat()
    assert days_on(client, f"/cuttings?first={day}&q=ember&lot=no") == 2
    page = words_on(client.get(f"/cuttings?first={day}&lot=no&by={cuttings[0].by_id}"))
    since = show_day(cuttings[3].day, organisation())
    for chip in (f"since {since}", "one for each", f"by {cuttings[0].by.name}"):
        assert chip in page
    text = client.get("/cuttings.csv?group=zoanthid").getvalue().decode()
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert {row["variety"] for row in rows} == {"Pier Moss"}
    assert (len(rows), rows[0]["living_frags"], rows[0]["on"]) == (10, "3", "plug")
    assert "All cuttings" in words_on(client.get("/"))


@pytest.mark.parametrize(
    ("query", "status", "said"),
    [
        ("first=27.11.2026", 400, "From: Write the day as in 2026-11-27."),
        ("first=2026-11-27&last=2026-11-01", 400, "The days end before they begin."),
        ("lot=maybe", 400, "Labels: there is no “maybe”."),
        ("colony=7K3Q9FN", 404, "7K3-Q9F-N is not a colony."),
        ("by=99999", 404, "There is no such person."),
        ("variety=99999", 404, "There is no such variety."),
        ("after=x", 400, "Begin with the first."),
        ("after=999999", 404, "Begin with the first."),
    ],
)
def test_what_cannot_be_is_answered_in_words(
    client_for: ClientFor, people: People, query: str, status: int, said: str
) -> None:
    answer = client_for(Role.GROWER).get(f"/cuttings?{query}")
    assert (answer.status_code, said in words_on(answer)) == (status, True)


def test_words() -> None:
    day, later = date(2026, 11, 1), date(2026, 11, 9)
    assert days_words(day, day) == "on 2026-11-01"
    assert days_words(day, later) == "from 2026-11-01 to 2026-11-09"
    assert days_words(None, later) == "until 2026-11-09"
    assert days_words(None, None) == ""
    assert all(filter_words(name, word) for name, (_, words) in WORDS.items() for word in words)


def test_cuttings_ask_as_much_for_many_as_for_one(
    client_for: ClientFor, grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client = client_for(Role.OWNER)
    for count in (1, 10):
        for _ in range(count):
            cut_colony(make_colony(grower).pk, pieces=2, by=grower)
        for query, most in (("", 4), ("?lot=no", 5), ("?q=harbour&lost=no", 6)):
            with django_assert_max_num_queries(most):
                assert client.get(f"/cuttings{query}").status_code == 200


@pytest.mark.parametrize("path", PAGES)
def test_who_may_see_cuttings(client_for: ClientFor, people: People, path: str) -> None:
    for role in Role:
        assert client_for(role).get(path).status_code == 200
    answer = client_for(None).get(path)
    assert (answer.status_code, answer["Location"][:9]) == (302, "/sign-in?")
    assert client_for(Role.OWNER).post(path).status_code == 403
