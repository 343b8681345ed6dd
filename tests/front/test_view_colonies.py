"""The list of colonies, a colony's page and its lineage."""

import csv
from collections.abc import Callable
from datetime import timedelta
from io import StringIO
from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.actions.founding import add_party
from fraginv.base.models import Organisation
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.base.show import show_day
from fraginv.front.queries.colony_lists import PAGE, colony_page_of
from fraginv.front.queries.colony_pages import DAUGHTERS, DAUGHTERS_ON_A_PAGE
from fraginv.front.rules.colony_filters import ColonyFilter
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.colonies import change_colony
from fraginv.stock.actions.leaving import record_death
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.models import Colony
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.actions.customers import add_customer
from fraginv.trade.queries.prices import get_kind
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


def text_at(client: Client, url: str, status: int = 200) -> str:
    """Return a page's text."""
    answer = client.get(url)
    assert answer.status_code == status
    return answer.content.decode()


@pytest.fixture
def house(people: People) -> dict[str, Colony]:
    """One colony for each filter, and one of which nothing is to be said."""
    grower = people[Role.GROWER]
    found = {name: make_colony(grower) for name in ("plain", "resting", "barred", "dead")}
    make_frags(grower, 2, colony=found["resting"], day=today() - timedelta(days=3))
    Colony.objects.filter(pk=found["resting"].pk).update(rest_days=30)
    bar_colony(found["barred"], because="a study", kind="research", by=grower)
    record_death(found["dead"].pk, cause="rtn", by=grower)
    found["paperless"] = make_colony(grower, origin="bought")
    found["lent"] = make_colony(
        grower,
        origin="on loan",
        owner=add_party("Orla Finch"),
        owner_share=5_000,
        invoice="7",
        variety=make_variety(grower, genus="Zoanthus"),
    )
    return found


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        ({}, {"plain", "resting", "barred", "paperless", "lent"}),
        ({"state": "dead"}, {"dead"}),
        ({"state": "all"}, {"plain", "resting", "barred", "dead", "paperless", "lent"}),
        ({"rest": "resting"}, {"resting"}),
        ({"rest": "may"}, {"plain", "barred", "paperless", "lent"}),
        ({"bar": "barred"}, {"barred"}),
        ({"bar": "free", "owner": "ours"}, {"plain", "resting", "paperless"}),
        ({"paper": "missing"}, {"paperless"}),
        ({"owner": "others"}, {"lent"}),
        ({"origin": "on loan"}, {"lent"}),
        ({"group": "zoanthid"}, {"lent"}),
        ({"q": "zoanth"}, {"lent"}),
        ({"q": "zoanth", "bar": "barred"}, set()),
    ],
)
def test_the_list_is_narrowed(
    client_for: ClientFor, house: dict[str, Colony], asked: dict[str, str], names: set[str]
) -> None:
    page = text_at(client_for(Role.READER), f"/colonies?{urlencode(asked)}")
    shown = {name for name, colony in house.items() if f"/T/{colony.code_id}" in page}
    assert shown == names
    table = client_for(Role.READER).get(f"/colonies.csv?{urlencode(asked)}").getvalue().decode()
    codes = {row["code"] for row in csv.DictReader(StringIO(table.lstrip("\ufeff")))}
    assert codes == {show_code(house[name].code_id) for name in names}


def test_a_colony_is_found_by_the_end_of_its_code(
    client_for: ClientFor, house: dict[str, Colony]
) -> None:
    colony = house["plain"]
    for text in (colony.code_id[-3:], show_code(colony.code_id)):
        page = text_at(client_for(Role.GROWER), f"/colonies?q={text}")
        assert f"/T/{colony.code_id}" in page


def test_what_is_narrowed_can_be_taken_off(client_for: ClientFor, house: dict[str, Colony]) -> None:
    page = text_at(client_for(Role.GROWER), "/colonies?bar=barred&owner=ours")
    assert 'href="/colonies?owner=ours"' in page
    assert "no paper of its origin" in text_at(client_for(Role.GROWER), "/colonies?paper=missing")
    ask = client_for(Role.GROWER).get("/colonies/narrow?bar=barred&rest=&show=1")
    assert ask["Location"] == "/colonies?bar=barred"
    assert client_for(Role.GROWER).get("/colonies/narrow?bar=barred").status_code == 200


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("bar=maybe", "Bar: there is no “maybe”"),
        ("state=asleep", "there is no “asleep”"),
        ("after=x", "not there. Begin with the first"),
    ],
)
def test_addresses_that_nobody_was_given(
    client_for: ClientFor, people: People, query: str, said: str
) -> None:
    assert said in text_at(client_for(Role.GROWER), f"/colonies?{query}", 400)
    if not query.startswith("after"):
        assert said in text_at(client_for(Role.GROWER), f"/colonies.xlsx?{query}", 400)
    assert "not there" in text_at(client_for(Role.GROWER), "/colonies?after=999999", 404)


def test_pages_follow_each_other_without_gap_or_double(people: People) -> None:
    grower = people[Role.GROWER]
    shared = make_variety(grower, name="Shared")
    for number in range(PAGE + 7):
        make_colony(grower, variety=shared if number % 3 else make_variety(grower))
    seen: list[int] = []
    after: int | None = None
    while True:
        found = colony_page_of(ColonyFilter(), after=after)
        seen += [row.colony.pk for row in found.rows]
        after = found.after
        if after is None:
            break
    order = Colony.objects.order_by("variety__name", "pk").values_list("pk", flat=True)
    assert seen == list(order)


def test_pages_ask_as_much_for_many_as_for_one(
    client_for: ClientFor,
    people: People,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    grower, client = people[Role.GROWER], client_for(Role.OWNER)
    colony = make_colony(grower)
    for count in (1, 10):
        for _ in range(count):
            make_frags(grower, 2, colony=colony)
            keep_as_colony(make_frag(grower, colony=colony).pk, by=grower)
        with django_assert_max_num_queries(6):
            client.get("/colonies?rest=may&paper=missing")
        with django_assert_max_num_queries(18):
            client.get(f"/T/{colony.code_id}")
        with django_assert_max_num_queries(8):
            client.get(f"/colonies/{colony.code_id}/lineage")


def test_a_long_line_is_counted_and_paged(client_for: ClientFor, people: People) -> None:
    grower, client = people[Role.GROWER], client_for(Role.READER)
    mother = make_colony(grower)
    frags = make_frags(grower, DAUGHTERS_ON_A_PAGE + 2, colony=mother)
    kept = [keep_as_colony(frag.pk, by=grower) for frag in frags]
    deep = keep_as_colony(make_frag(grower, colony=kept[0]).pk, by=grower)
    page = text_at(client, f"/T/{mother.code_id}")
    assert f"{len(kept) + 1} colonies descend from it" in page
    assert sum(f"/T/{one.code_id}" in page for one in kept) == DAUGHTERS
    first = text_at(client, f"/colonies/{mother.code_id}/lineage")
    assert sum(f"/T/{one.code_id}" in first for one in kept) == DAUGHTERS_ON_A_PAGE
    assert "1 colony below" in first
    rest = text_at(client, f"/colonies/{mother.code_id}/lineage?after={kept[-3].pk}")
    assert [f"/T/{one.code_id}" in rest for one in kept[-3:]] == [False, True, True]
    line = text_at(client, f"/colonies/{deep.code_id}/lineage")
    assert f"/T/{kept[0].code_id}" in line
    assert f"/T/{mother.code_id}" in line
    assert "No frag of it was kept" in line


def test_a_frag_that_was_kept_says_so_and_its_colony_since_when(
    client_for: ClientFor, people: People, organisation: Organisation
) -> None:
    grower, client = people[Role.GROWER], client_for(Role.GROWER)
    frag = make_frag(grower, day=today() - timedelta(days=90))
    colony = keep_as_colony(frag.pk, by=grower)
    page = words_on(client.get(f"/T/{frag.code_id}"))
    assert "kept as colony" in page
    assert "kept back" not in page
    cut, kept = show_day(frag.cut_on, organisation), show_day(colony.acquired_on, organisation)
    page = words_on(client.get(f"/T/{colony.code_id}"))
    assert f"Cut here, {cut}; kept as a colony {kept}" in page


def test_lineage_asks_who_reads(client_for: ClientFor, people: People) -> None:
    colony = make_colony(people[Role.GROWER])
    url = f"/colonies/{colony.code_id}/lineage"
    assert "the first of its line" in text_at(client_for(Role.SELLER), url)
    assert client_for(None).get(url)["Location"].startswith("/sign-in")
    assert client_for(Role.GROWER).post(url).status_code == 403
    assert client_for(Role.GROWER).get("/colonies/7K3Q9FN/lineage").status_code == 404
    assert client_for(Role.GROWER).get("/colonies/xyz/lineage").status_code == 400


def test_whoever_has_pieces_of_a_barred_colony_is_told(
    client_for: ClientFor, people: People
) -> None:
    frag = make_frag(people[Role.GROWER], ready=True)
    seller = people[Role.SELLER]
    customer = add_customer("Ines Varga", kind=get_kind("retail"), by=seller)
    hold_frag(frag.pk, pieces=1, kind=ClaimKind.NAMED, party=customer.party, by=seller)
    bar_colony(Colony.objects.get(), because="held for the customs", by=people[Role.GROWER])
    page = text_at(client_for(Role.SELLER), f"/trade/customers/{customer.pk}")
    assert "cannot be sold: held for the customs" in page


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ("living", "frags are cut from it"),
        ("displayed", "stands in the display now"),
        ("dead", "no longer kept here"),
    ],
)
def test_a_visitor_reads_what_became_of_it(
    client_for: ClientFor, people: People, state: str, said: str
) -> None:
    colony = make_colony(people[Role.GROWER], permit="P 9", note="in the back")
    Colony.objects.filter(pk=colony.pk).update(state=state)
    page = text_at(client_for(None), f"/T/{colony.code_id}")
    assert said in page
    assert "P 9" not in page
    assert "in the back" not in page


def test_a_story_names_what_it_is_about(client_for: ClientFor, people: People) -> None:
    grower = people[Role.GROWER]
    colony, rack = make_colony(grower), make_rack(grower)
    facts: dict[str, Any] = {"rack": rack, "supplier": add_party("Orla Finch"), "note": "dim"}
    change_colony(colony.pk, by=grower, **facts)
    change_colony(colony.pk, by=grower, rack=None, supplier=None)
    page = text_at(client_for(Role.READER), f"/T/{colony.code_id}")
    assert f"Moved to {rack}" in page
    assert "Taken out of its rack" in page
    assert "Changed: from whom (was not known), note" in page
    assert "Changed: from whom (was Orla Finch)" in page
