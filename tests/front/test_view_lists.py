"""Today, the lists, and finding."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import address
from fraginv.base.rules.roles import Role
from fraginv.front.queries.frag_lists import frag_list
from fraginv.front.queries.rows import PAGE
from fraginv.front.rules.frag_filters import FragFilter
from fraginv.stock.actions.aside import keep_back
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.grading import grade_frags, mark_healed
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import (
    make_colony,
    make_frag,
    make_frags,
    make_lot,
    make_rack,
    make_variety,
)
from tests.reading import words_on
from tests.trade.rows import open_shop

ClientFor = Callable[[Role | None], Client]


def text_at(client: Client, url: str, status: int = 200) -> str:
    answer = client.get(url)
    assert answer.status_code == status
    return answer.content.decode()


def test_today_before_anything_happened(client_for: ClientFor) -> None:
    page = text_at(client_for(Role.OWNER), "/")
    assert "Nothing was cut yet" in page


def test_lists_name_the_trough_with_the_rack(
    client_for: ClientFor, grower: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for frag in make_frags(grower, 3, day=today() - timedelta(days=61)):
        place_frags([frag.pk], rack=make_rack(grower), by=grower)
    client = client_for(Role.GROWER)
    for path, most in (("/", 10), ("/frags", 6)):
        with django_assert_max_num_queries(most):
            page = words_on(client.get(path))
        assert "A, rack 1" in page
        assert "A, rack 3" in page


def test_today_says_what_to_look_at(client_for: ClientFor, people: People) -> None:
    grower = people[Role.GROWER]
    old = make_frag(grower, day=today() - timedelta(days=61))
    young = make_frag(grower, day=today() - timedelta(days=20))
    mark_healed([old.pk], by=grower)
    lot = make_lot(grower, 30, ready=True)
    hold_frag(lot.pk, pieces=2, kind=ClaimKind.WALK, by=grower, for_name="Ticket 9")
    page = text_at(client_for(Role.SELLER), "/")
    likely = page[page.index("Likely ready") : page.index("Healing for two weeks")]
    check = page[page.index("Healing for two weeks") : page.index("Latest cuttings")]
    assert f"/T/{old.code_id}" in likely
    assert f"/T/{young.code_id}" in check
    assert "Ticket 9" in page
    assert "30 pieces" in page
    assert "Ticket 9" not in text_at(client_for(Role.GROWER), "/")


@pytest.mark.parametrize(
    ("role", "shown", "hidden"),
    [
        (Role.GROWER, "Cut a colony", "Sell from the racks"),
        (Role.SELLER, "Sell from the racks", "Cut a colony"),
        (Role.READER, "Today", "Labels</a>"),
    ],
)
def test_today_offers_what_the_role_may(
    client_for: ClientFor, role: Role, shown: str, hidden: str
) -> None:
    page = text_at(client_for(role), "/")
    assert shown in page
    assert hidden not in page


@pytest.mark.parametrize("url", ["/", "/frags", "/colonies"])
def test_pages_ask_as_much_for_many_as_for_one(
    client_for: ClientFor,
    people: People,
    url: str,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    grower, client = people[Role.GROWER], client_for(Role.OWNER)
    # Two of the frags' are for when they will be ready.
    most = {"/": 9, "/frags": 6, "/colonies": 5}[url]
    for count in (1, 10):
        for _ in range(count):
            make_frags(grower, 2, rack=make_rack(grower), day=today() - timedelta(days=30))
        with django_assert_max_num_queries(most):
            client.get(url)


def test_frags_by_stage_variety_and_text(client_for: ClientFor, people: People) -> None:
    grower, client = people[Role.GROWER], client_for(Role.READER)
    moss = make_frag(grower, colony=make_colony(grower, variety=make_variety(grower, name="Moss")))
    ember = make_frag(
        grower, colony=make_colony(grower, variety=make_variety(grower, name="Ember"))
    )
    grade_frags([ember.pk], size="M", by=grower)

    def shown(query: str) -> set[str]:
        page = text_at(client, f"/frags?{query}")
        return {name for name in ("Moss", "Ember") if f">{name}</a>" in page}

    assert shown("") == {"Moss", "Ember"}
    assert shown("stage=ready") == {"Ember"}
    assert shown("stage=sold") == set()
    assert shown(f"variety={moss.variety_id}") == {"Moss"}
    assert shown("q=emb") == {"Ember"}
    assert shown(f"q={moss.code_id[:4].lower()}") == {"Moss"}
    assert shown(f"after={10**17}") == {"Moss", "Ember"}
    for wrong in ("after=x", f"after={10**30}"):
        assert "Begin with the first" in text_at(client, f"/frags?{wrong}", 400)
    assert shown(f"stage=ready&after={moss.pk}") == set()
    assert client.get("/frags?variety=9999").status_code == 404


def test_pages_of_frags_neither_repeat_nor_miss_one(people: People) -> None:
    made = {frag.pk for frag in make_frags(people[Role.GROWER], 2 * PAGE + 5)}
    seen: list[int] = []
    after: int | None = None
    for _ in range(3):
        page = frag_list(FragFilter(), after=after)
        seen += [row.frag.pk for row in page.rows]
        after = page.after
    assert after is None
    assert len(seen) == len(made)
    assert set(seen) == made
    assert seen == sorted(seen, reverse=True)


def test_exactly_one_page_has_no_next(client_for: ClientFor, people: People) -> None:
    make_frags(people[Role.GROWER], PAGE)
    assert 'rel="next"' not in text_at(client_for(Role.OWNER), "/frags")
    make_frag(people[Role.GROWER])
    assert 'rel="next"' in text_at(client_for(Role.OWNER), "/frags")


def test_colonies_say_whether_they_may_be_cut(client_for: ClientFor, people: People) -> None:
    grower, client = people[Role.GROWER], client_for(Role.GROWER)
    colony = make_colony(grower, rest_days=30)
    assert "may be cut" in text_at(client, "/colonies")
    make_frags(grower, 2, colony=colony, day=today() - timedelta(days=3))
    page = text_at(client, "/colonies")
    assert "rests until" in page
    assert "2 living frags" in page
    bar_colony(colony, because="on loan", by=grower)
    assert "tag--barred" in text_at(client, "/colonies?q=acrop")
    assert "No colony here" in text_at(client, "/colonies?q=nothing")


def test_colonies_take_a_printed_label_on_to_the_cutting(
    client_for: ClientFor, people: People
) -> None:
    colony = make_colony(people[Role.GROWER])
    page = text_at(client_for(Role.GROWER), "/colonies?first=7K3Q9FN")
    assert f"/stock/colonies/{colony.code_id}/cut?first=7K3Q9FN" in page
    form = text_at(client_for(Role.GROWER), f"/stock/colonies/{colony.code_id}/cut?first=7K3Q9FN")
    assert 'value="7K3-Q9F-N"' in form


def test_cutting_has_its_frags_and_leads_to_labels(client_for: ClientFor, people: People) -> None:
    frags = make_frags(people[Role.GROWER], 3, lost=2)
    url = f"/cuttings/{frags[0].cutting_id}"
    page = text_at(client_for(Role.GROWER), url)
    assert "3 pieces on plugs, 2 more lost at the bench" in page
    assert f"/labels/?cutting={frags[0].cutting_id}" in page
    assert all(frag.code_id in page for frag in frags)
    assert 'name="codes"' in page
    assert text_at(client_for(Role.GROWER), "/cuttings/999999", 404)


def test_find_by_code_in_any_form(client_for: ClientFor, people: People) -> None:
    frag, client = make_frag(people[Role.GROWER]), client_for(Role.SELLER)
    for text in (frag.code_id.lower(), address("REEF.TEST", frag.code_id), f" {frag.code_id} "):
        answer = client.get("/find", {"q": text})
        assert (answer.status_code, answer["Location"]) == (302, f"/T/{frag.code_id}")


def test_find_by_the_last_three_characters(client_for: ClientFor, people: People) -> None:
    frag, client = make_frag(people[Role.GROWER]), client_for(Role.SELLER)
    end = frag.code_id[-3:].lower()
    answer = client.get("/find", {"q": end})
    assert answer["Location"] == f"/T/{frag.code_id}"
    record_loss(frag.pk, pieces=1, cause="fell", by=people[Role.GROWER])
    assert "Nothing found" in text_at(client, f"/find?q={end}", 404)


def test_find_by_name_and_place(client_for: ClientFor, people: People) -> None:
    grower, client = people[Role.GROWER], client_for(Role.SELLER)
    lantern = make_variety(grower, name="Harbour Lantern")
    make_variety(grower, name="Harbour Ember", genus="Zoanthus")
    rack = make_rack(grower, name="Window")
    assert client.get("/find?q=window")["Location"] == f"/T/{rack.code_id}"
    # 1ANTERN happens to be a well-formed code.
    assert client.get("/find?q=lantern")["Location"] == f"/frags?variety={lantern.pk}"
    both = text_at(client, "/find?q=harbour")
    assert "Harbour Lantern" in both
    assert "Harbour Ember" in both
    assert "Nothing found" in text_at(client, "/find?q=xyzzyx", 404)
    assert "A character in 7K3-Q9F-X is wrong" in text_at(client, "/find?q=7K3Q9FX", 404)
    assert "none of ours" in text_at(client, "/find?q=7K3Q9FN", 404)
    assert "Type a code" in text_at(client, "/find")


def test_find_by_group_trough_customer_and_paper(
    client_for: ClientFor, people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    shop, client = open_shop(people), client_for(Role.SELLER)
    moss = make_variety(people[Role.GROWER], name="Pier Moss", genus="Zoanthus")
    rack = make_rack(people[Role.GROWER])
    sale = shop.sell(shop.priced_lot(30), 3)
    customer = shop.customer("Ines Varga")
    assert client.get("/find?q=zoanthids")["Location"] == "/frags?group=zoanthid"
    assert client.get("/find?q=moss")["Location"] == f"/frags?variety={moss.pk}"
    answer = client.get("/find", {"q": rack.trough.name}, follow=True)
    assert (answer.status_code, rack.code_id in answer.content.decode()) == (200, True)
    assert client.get(f"/find?q={sale.paper.lower()}")["Location"] == f"/trade/sales/{sale.pk}"
    with django_assert_max_num_queries(10):
        answer = client.get("/find?q=varga")
    assert answer["Location"] == f"/trade/customers/{customer.pk}"
    assert "a customer or a sale&#x27;s number" in text_at(client, "/find")
    grower = client_for(Role.GROWER)
    assert "Nothing found" in text_at(grower, "/find?q=varga", 404)
    assert "Nothing found" in text_at(grower, f"/find?q={sale.paper}", 404)
    assert "customer" not in text_at(grower, "/find")


def test_what_is_for_sale_has_a_price_and_a_way_to_sell_it(
    client_for: ClientFor, people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    shop, owner = open_shop(people), people[Role.OWNER]
    lot, kept, held = shop.priced_lot(30), *(make_frag(owner, ready=True) for _ in range(2))
    keep_back([kept.pk], kept=True, by=owner)
    hold_frag(held.pk, pieces=1, kind=ClaimKind.WALK, by=owner, for_name="Ticket 9")
    seller = client_for(Role.SELLER)
    with django_assert_max_num_queries(5):
        page = text_at(seller, "/frags?stage=sale")
    assert f"/T/{lot.code_id}" in page
    assert "a piece</span>" in page
    assert 'formaction="/trade/sell"' in page
    for other in (kept, held):
        assert other.code_id not in page
    assert 'name="codes"' not in text_at(client_for(Role.READER), "/frags?stage=sale")
    assert 'formaction="/trade/sell"' not in text_at(client_for(Role.GROWER), "/frags?stage=sale")


def test_a_hold_of_tomorrow_is_not_yet_on_todays_page(
    client_for: ClientFor, people: People
) -> None:
    seller = people[Role.SELLER]
    frag = make_frag(seller, ready=True)
    until = clock.now() + timedelta(days=2)
    hold_frag(
        frag.pk, pieces=1, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga", until=until
    )
    assert "Ines Varga" not in text_at(client_for(Role.SELLER), "/")
    with clock.at(until - timedelta(hours=1)):
        assert "Ines Varga" in text_at(client_for(Role.SELLER), "/")


def test_a_new_house_says_where_to_begin(
    people: People, client_for: ClientFor, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    owner = client_for(Role.OWNER)
    with django_assert_max_num_queries(15):
        words = words_on(owner.get("/"))
    for step in (
        "Write down water, troughs and racks to do",
        "Set the sales tax",
        "Invite the crew",
    ):
        assert step in words
    assert "Invite the crew done" in words
    grower = words_on(client_for(Role.GROWER).get("/"))
    assert "Add the first colony to do" in grower
    assert "sales tax" not in grower
    make_frags(people[Role.GROWER], 1)
    assert "First steps" not in words_on(client_for(Role.OWNER).get("/"))


def test_on_a_phone_it_says_who_is_signed_in(people: People, client_for: ClientFor) -> None:
    Person.objects.filter(role="grower").update(name="Priya Castellane")
    assert "More, signed in as Priya" in words_on(client_for(Role.GROWER).get("/frags"))
