"""The page that finds, and the answers while one types."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.models import Code, OldCode, Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.base.rules.roles import Role
from fraginv.front.queries.find import OF_ONE_KIND, TYPED_SHOWN, find_while_typing
from fraginv.front.rules.finding import Fit
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.actions.losses import record_loss
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_rack, make_variety
from tests.reading import words_on
from tests.trade.rows import open_shop

ClientFor = Callable[[Role | None], Client]
ANSWER = re.compile(
    r'data-find-to="(?P<url>[^"]+)".*?find__title">(?P<title>[^<]+)<.*?find__kind">(?P<kind>[^<]+)<',
    re.DOTALL,
)


def typed(client: Client, text: str) -> list[tuple[str, str]]:
    """Return kind and title of each answer while typing, the best first."""
    answer = client.get("/find/answers", {"q": text})
    assert answer.status_code == 200
    return [(one["kind"], one["title"]) for one in ANSWER.finditer(answer.content.decode())]


def mark(code: Code, text: str) -> None:
    """Let a thing have been known by an old code."""
    OldCode.objects.create(code=code, text=text, folded=fold_old_code(text))


@pytest.fixture
def lantern(grower: Person) -> Person:
    """Varieties, a place and colonies whose names share a word."""
    for name in ("Harbour Lantern", "Lantern", "Lantern Fish"):
        make_colony(grower, variety=make_variety(grower, name=name))
    make_rack(grower, name="Lantern shelf")
    return grower


def test_best_first_while_typing(client_for: ClientFor, lantern: Person) -> None:
    assert typed(client_for(Role.GROWER), "lantern") == [
        ("variety", "Lantern"),
        ("variety", "Lantern Fish"),
        ("rack", "A, Lantern shelf"),
        ("variety", "Harbour Lantern"),
        ("colony", "Lantern"),
        ("colony", "Lantern Fish"),
        ("colony", "Harbour Lantern"),
    ]
    assert typed(client_for(Role.GROWER), "lantern sh") == [("rack", "A, Lantern shelf")]
    assert typed(client_for(Role.GROWER), "zzz") == []
    assert typed(client_for(Role.GROWER), "") == []


@pytest.mark.usefixtures("lantern")
def test_the_page_has_the_same_order(client_for: ClientFor) -> None:
    page = client_for(Role.GROWER).get("/find?q=lantern").content.decode()
    titles = re.findall(r'list__link" href="[^"]*">([^<]+)<', page)
    assert titles[:4] == ["Lantern", "Lantern Fish", "A, Lantern shelf", "Harbour Lantern"]


def test_a_code_while_it_is_typed(client_for: ClientFor, grower: Person) -> None:
    frag, client = make_frag(grower), client_for(Role.SELLER)
    shown = show_code(frag.code_id)
    for text in (shown, shown[:5].lower(), frag.code_id[-3:].lower()):
        assert ("frag", frag.variety.name) in typed(client, text)
    assert f"/T/{frag.code_id}" in client.get(f"/find/answers?q={shown}").content.decode()
    run_code = issue_blank_run(3)[0]
    assert typed(client, run_code.code) == [("label", show_code(run_code.code))]


def test_what_is_not_well_says_so(client_for: ClientFor, grower: Person) -> None:
    frag, client = make_frag(grower, ready=True), client_for(Role.SELLER)
    make_frag(grower, ready=True)
    mark_wrong([frag.pk], wrong="bleaching", by=grower)
    answer = words_on(client.get(f"/find/answers?q={frag.code_id[:5]}"))
    assert f"{show_code(frag.code_id)}, ready, not well: bleaching" in answer
    assert words_on(client.get("/frags?stage=sale")).count("not well") == 1


def test_old_codes(client_for: ClientFor, grower: Person) -> None:
    frag, colony, client = make_frag(grower), make_colony(grower), client_for(Role.GROWER)
    mark(frag.code, "A-17 b")
    mark(colony.code, "A-17 c")
    assert client.get("/find?q=a17B")["Location"] == f"/T/{frag.code_id}"
    assert [kind for kind, _ in typed(client, "A-17")] == ["frag", "colony"]
    record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    assert client.get("/find", {"q": "A 17 B"})["Location"] == f"/T/{frag.code_id}"
    (found,) = find_while_typing("a.17.c", reader=grower).answers
    assert (found.fit, found.url) == (Fit.OLD, f"/T/{colony.code_id}")


def test_what_has_ended_is_not_found_by_the_end_of_its_code(grower: Person) -> None:
    frag = make_frag(grower)
    end = frag.code_id[-3:]
    assert [one.url for one in find_while_typing(end, reader=grower).answers] == [
        f"/T/{frag.code_id}"
    ]
    record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    assert not find_while_typing(end, reader=grower).answers


def test_customers_and_papers_by_right_alone(client_for: ClientFor, people: People) -> None:
    shop = open_shop(people)
    sale, _ = shop.sell(shop.priced_lot(30), 3), shop.customer("Ines Varga")
    seller, grower = client_for(Role.SELLER), client_for(Role.GROWER)
    assert typed(seller, "varga") == [("customer", "Ines Varga")]
    assert typed(grower, "varga") == []
    assert typed(seller, sale.paper) == [("sale", sale.paper)]
    assert typed(grower, sale.paper) == []


def test_where_nothing_is_found_it_is_said_what_to_try(
    client_for: ClientFor, people: People
) -> None:
    frag = make_frag(people[Role.GROWER])
    page = client_for(Role.SELLER).get("/find", {"q": "zzz"})
    said = words_on(page)
    assert (page.status_code, "has a code that ends in ZZZ" in said) == (404, True)
    assert "the last three characters are enough, as 9FN of 7K3-Q9F-N" in said
    assert "Customers are found" not in said
    said = words_on(client_for(Role.GROWER).get("/find", {"q": "Ines Varga"}))
    assert "Customers are found by sellers alone." in said
    shown = show_code(frag.code_id)
    large = f'{shown[:5]}<span class="code__end">{shown[5:]}</span>'
    assert large in client_for(Role.GROWER).get(f"/T/{frag.code_id}").content.decode()


def test_no_kind_crowds_out_the_others(client_for: ClientFor, grower: Person) -> None:
    for number in range(12):
        make_variety(grower, name=f"Shelf {number}", genus="Zoanthus")
    make_rack(grower, name="Shelf rack")
    found = typed(client_for(Role.GROWER), "shelf")
    assert len(found) == TYPED_SHOWN
    assert [kind for kind, _ in found].index("rack") == TYPED_SHOWN - 1
    assert [title for kind, title in found if kind == "variety"][:3] == [
        *("Shelf 0", "Shelf 1", "Shelf 2")
    ]
    page = client_for(Role.GROWER).get("/find/answers?q=shelf").content.decode()
    assert f"{TYPED_SHOWN} answers, and more on Enter" in page
    assert OF_ONE_KIND < TYPED_SHOWN


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "%_'\"\\", "é" * 300, "\u202e7K3"])
def test_odd_texts(client_for: ClientFor, people: People, text: str) -> None:
    client = client_for(Role.OWNER)
    page = client.get("/find/answers", {"q": text})
    assert (page.status_code, b"<script" in page.content) == (200, False)
    assert client.get("/find", {"q": text}).status_code == 404


def test_answers_ask_as_much_for_many_as_for_one(
    client_for: ClientFor, people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    grower, client = people[Role.GROWER], client_for(Role.SELLER)
    for count in (1, 10):
        for _ in range(count):
            make_frags(grower, 2, rack=make_rack(grower))
        for text in ("harbour", "acropora", "rack", "display", "varga", "7k3q"):
            with django_assert_max_num_queries(12):
                client.get("/find/answers", {"q": text})


def test_nobody_finds_anything(client_for: ClientFor) -> None:
    answer = client_for(None).get("/find/answers?q=lantern")
    assert (answer.status_code, answer["Location"][:9]) == (302, "/sign-in?")
    assert client_for(Role.READER).get("/find/answers?q=lantern").status_code == 200
    assert client_for(Role.READER).post("/find/answers").status_code == 403


def test_a_genus_by_a_name_of_the_trade(client_for: ClientFor, grower: Person) -> None:
    """Source: ``taxa/data/genera.csv``, whose other names are common practice of the trade."""
    make_variety(grower, name="Sluice", genus="Fimbriaphyllia")
    page = words_on(client_for(Role.GROWER).get("/find/answers?q=hamm"))
    assert "Fimbriaphyllia Euphylliidae, also hammer genus" in page
