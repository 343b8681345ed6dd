"""The address on a label: who reads what, in whatever form it is typed."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.costs.actions import add_bill
from fraginv.costs.rules import BillItem
from fraginv.growth.actions.photos import file_photo
from fraginv.stock.actions.aside import set_apart
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Colony, Frag
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.actions.pricing import set_price
from fraginv.trade.rules.words import Unit
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_lot, make_rack, make_variety
from tests.reading import words_on
from tests.trade.rows import LONG_AGO, open_shop

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def lot(people: People) -> Frag:
    """A ready lot of thirty, five of them put aside, in a rack."""
    grower = people[Role.GROWER]
    variety = make_variety(grower, name="Pier Moss", genus="Zoanthus", care="Some flow.")
    lot = make_lot(grower, 30, ready=True, colony=make_colony(grower, variety=variety))
    place_frags([lot.pk], rack=make_rack(grower, name="Window rack"), by=grower)
    seller = people[Role.SELLER]
    hold_frag(lot.pk, pieces=5, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    return lot


def text_at(client: Client, code: str, status: int = 200) -> str:
    answer = client.get(f"/T/{code}")
    assert answer.status_code == status, answer.content.decode()
    return answer.content.decode().partition("<main")[2].partition("</main>")[0]


def said_at(client: Client, code: str, status: int) -> str:
    answer = client.get(f"/T/{code}")
    assert answer.status_code == status, answer.content.decode()
    return words_on(answer)


FORMS: list[Callable[[str], str]] = [
    lambda code: f"/T/{code}",
    lambda code: f"/t/{code.lower()}",
    lambda code: f"/T/{code.lower()}/",
    lambda code: f"/t/{show_code(code)}",
    lambda code: f"/T/{show_code(code).lower()}/?from=label",
]


@pytest.mark.parametrize("form", FORMS, ids=["plain", "small", "slash", "dashes", "query"])
def test_any_capitals_and_separators(
    client_for: ClientFor, lot: Frag, form: Callable[[str], str]
) -> None:
    for role in (Role.GROWER, None):
        answer = client_for(role).get(form(lot.code_id))
        assert answer.status_code == 200
        assert "Pier Moss" in answer.content.decode()


@pytest.mark.parametrize("role", [*Role, None])
def test_mistyped_unknown_and_unused_codes_say_so(
    client_for: ClientFor, people: People, role: Role | None
) -> None:
    client, (blank,) = client_for(role), issue_blank_run(1)
    assert "A character in 7K3-Q9F-X is wrong" in said_at(client, "7K3Q9FX", 400)
    assert "A code has 7 characters" in said_at(client, "7K3Q9", 400)
    assert "7K3-Q9F-N is a well-formed code, but none of ours" in said_at(client, "7K3Q9FN", 404)
    if role is None:
        assert "is not in use yet" in text_at(client, blank.code, 404)
    else:
        page = text_at(client, blank.code)
        assert "Not in use yet" in page
        can_cut = role in {Role.GROWER, Role.MANAGER, Role.OWNER}
        assert (f"/bench?first={blank.code}" in page) is can_cut


def test_crew_read_stage_pieces_place_and_log(client_for: ClientFor, lot: Frag) -> None:
    page = text_at(client_for(Role.SELLER), lot.code_id)
    for words in ("30 pieces in this lot, 25 not promised", "Window rack", "Graded ready, size M"):
        assert words in page
    assert "Put aside for Ines Varga: 5 pieces" in page
    assert f"/trade/sell?codes={lot.code_id}" in page
    assert f"/T/{lot.colony.code_id}" in page  # type: ignore[union-attr]


def test_growers_are_not_told_who_the_customer_is(client_for: ClientFor, lot: Frag) -> None:
    page = text_at(client_for(Role.GROWER), lot.code_id)
    assert "Ines Varga" not in page
    assert "Put aside for somebody: 5 pieces" in page


BUTTONS = {
    Role.GROWER: {"Photo", "Label", "Place", "Set apart", "Quarantine", "Keep back"}
    | {"Label lost"},
    Role.SELLER: {"Sell", "Put aside", "Photo", "Label", "Label lost"},
    Role.READER: set(),
}


@pytest.mark.parametrize("role", BUTTONS)
def test_what_can_be_done_next_follows_the_role(
    client_for: ClientFor, lot: Frag, role: Role
) -> None:
    page = text_at(client_for(role), lot.code_id)
    shown = {word for word in set().union(*BUTTONS.values()) if f"</svg>{word}</" in page}
    assert shown == BUTTONS[role]
    assert ('formaction="/stock/frags/grade"' in page) is (role is Role.GROWER)


def test_what_can_be_done_next_follows_the_stage(client_for: ClientFor, people: People) -> None:
    owner, client = people[Role.OWNER], client_for(Role.OWNER)
    frag = make_frag(owner)
    page = text_at(client, frag.code_id)
    assert ">Healed<" in page
    assert ">Sell<" not in page
    grade_frags([frag.pk], size="S", by=owner)
    page = text_at(client, frag.code_id)
    assert ">Healed<" not in page
    assert ">Sell<" in page
    set_apart([frag.pk], by=owner)
    page = text_at(client, frag.code_id)
    assert ">Release<" in page
    assert ">Sell<" not in page
    record_loss(frag.pk, pieces=1, cause="fell", by=owner)
    page = text_at(client, frag.code_id)
    assert "Lost: 1 piece, Fell" in page
    assert "formaction" not in page


def test_visitor_reads_what_it_is_needs_and_costs(
    client_for: ClientFor, people: People, lot: Frag
) -> None:
    shop = open_shop(people)
    manager = people[Role.MANAGER]
    set_price(2500, kind=shop.retail, variety=lot.variety, first_day=LONG_AGO, by=manager)
    file_photo(lot, data=make_picture(), by=manager)
    page = text_at(client_for(None), lot.code_id)
    for words in ("Pier Moss", "Zoanthus sp.", "Zoanthid", "Some flow.", "Available"):
        assert words in page
    assert '$25.00</span> <span class="soft">a piece, without tax' in page
    assert "/photos/" in page


def test_palytoxin_is_named_to_crew_and_visitors_before_they_touch(
    client_for: ClientFor, people: People, lot: Frag
) -> None:
    # Palytoxin in zoantharians: Hamade et al., CDC MMWR 2015;64(31):852-855.
    assert lot.colony is not None
    other = make_frag(people[Role.GROWER])
    for role in (Role.GROWER, None):
        client = client_for(role)
        for code in (lot.code_id, lot.colony.code_id):
            assert "May carry palytoxin" in text_at(client, code)
        assert "palytoxin" not in text_at(client, other.code_id)
    colony = text_at(client_for(Role.GROWER), lot.colony.code_id)
    assert colony.index("palytoxin") < colony.index(f"/{lot.colony.code_id}/cut")


def test_a_resting_colony_may_be_cut_but_does_not_ask_for_it(
    client_for: ClientFor, people: People
) -> None:
    colony = make_colony(people[Role.GROWER], rest_days=30)
    asks = 'class="button button--primary" href="/stock/colonies/'
    assert asks in text_at(client_for(Role.GROWER), colony.code_id)
    make_frag(people[Role.GROWER], colony=colony)
    page = text_at(client_for(Role.GROWER), colony.code_id)
    assert asks not in page
    assert f"/stock/colonies/{colony.code_id}/cut" in page


def test_a_hold_names_who_made_it_and_is_not_let_go_unasked(
    client_for: ClientFor, lot: Frag
) -> None:
    page = text_at(client_for(Role.SELLER), lot.code_id)
    assert "Put aside by Test seller" in page
    assert 'data-confirm="Let go what is put aside for Ines Varga?"' in page


def test_a_fresh_cut_is_healed_first_and_graded_only_when_asked_twice(
    client_for: ClientFor, people: People
) -> None:
    frag, client = make_frag(people[Role.GROWER]), client_for(Role.GROWER)
    page = text_at(client, frag.code_id)
    assert page.index(">Healed<") < page.index("Grade ready")
    assert page.count('data-confirm="This is a fresh cut') == 4
    grade_frags([frag.pk], size="S", by=people[Role.GROWER])
    page = text_at(client, frag.code_id)
    assert "fresh cut" not in page
    assert ">Not ready after all<" in page


def test_visitor_never_reads_what_is_the_crews(
    client_for: ClientFor, people: People, lot: Frag
) -> None:
    shop, manager = open_shop(people), people[Role.MANAGER]
    set_price(7777, kind=shop.shop, variety=lot.variety, first_day=LONG_AGO, by=manager)
    add_bill([BillItem("Power", 123_45)], day=today(), by=manager)
    assert lot.colony is not None
    Colony.objects.filter(pk=lot.colony.pk).update(note="Papers in drawer 3")
    page = text_at(client_for(None), lot.code_id)
    for hidden in ("77.77", "123.45", "Ines Varga", "Window rack", "drawer 3", "Test grower"):
        assert hidden not in page
    colony = text_at(client_for(None), lot.colony.code_id)
    for hidden in ("drawer 3", "cut here", "Cuttings", "Test grower"):
        assert hidden not in colony
    assert "mother colony" in colony
    assert lot.rack is None or text_at(client_for(None), lot.rack.code_id, 404)


def test_a_price_by_heads_needs_counted_heads(
    client_for: ClientFor, people: People, lot: Frag
) -> None:
    shop, manager = open_shop(people), people[Role.MANAGER]
    set_price(
        500, kind=shop.retail, variety=lot.variety, unit=Unit.HEAD, first_day=LONG_AGO, by=manager
    )
    assert "$" not in text_at(client_for(None), lot.code_id)
    grade_frags([lot.pk], size="M", heads=4, by=manager)
    assert "$20.00" in text_at(client_for(None), lot.code_id)


def test_hold_that_ran_out_frees_the_piece_on_the_page(
    client_for: ClientFor, people: People
) -> None:
    seller = people[Role.SELLER]
    frag = make_frag(seller, ready=True)
    hold_frag(frag.pk, pieces=1, kind=ClaimKind.WALK, by=seller, for_name="Ticket 4")
    assert "Put aside for somebody" in text_at(client_for(None), frag.code_id)
    with clock.at(clock.now() + timedelta(minutes=31)):
        assert "Available" in text_at(client_for(None), frag.code_id)


def test_colony_and_rack_pages(client_for: ClientFor, lot: Frag) -> None:
    client = client_for(Role.GROWER)
    assert lot.colony is not None
    page = text_at(client, lot.colony.code_id)
    for words in ("palytoxin", "mother colony", "one lot", show_code(lot.code_id)):
        assert words in page
    rack = Frag.objects.get(pk=lot.pk).rack
    assert rack is not None
    assert "1 frag, 30 pieces" in text_at(client, rack.code_id)


def test_scans_ask_few_questions(
    client_for: ClientFor,
    people: People,
    lot: Frag,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    """Session, person and organisation are three; a frag that nobody has asks three more."""
    shop, manager = open_shop(people), people[Role.MANAGER]
    plain = shop.priced_lot(30)
    crew, grower, visitor = client_for(Role.SELLER), client_for(Role.GROWER), client_for(None)
    for client in (crew, grower, visitor):
        with django_assert_max_num_queries(6):
            client.get(f"/T/{plain.code_id}")
    # One more each for holds and for photos; and for a rack where it stood before.
    for client, most in ((crew, 8), (grower, 8), (visitor, 6)):
        file_photo(lot, data=make_picture(), by=manager)
        with django_assert_max_num_queries(most):
            client.get(f"/T/{lot.code_id}")
    for size in ("S", "M", "L", "S", "M", "L"):
        grade_frags([lot.pk], size=size, by=people[Role.GROWER])
        hold_frag(lot.pk, pieces=1, kind=ClaimKind.NAMED, by=manager, for_name=f"Guest {size}")
    place_frags([lot.pk], rack=make_rack(people[Role.GROWER], name="Far rack"), by=manager)
    with django_assert_max_num_queries(9):
        page = crew.get(f"/T/{lot.code_id}").content.decode()
    assert "Window rack" in page
    assert "Guest L" in page


def test_a_scan_asks_for_the_prices_of_its_own_variety_alone(
    client_for: ClientFor, people: People, lot: Frag
) -> None:
    shop, manager = open_shop(people), people[Role.MANAGER]
    for amount in (1_100, 1_200, 1_300):
        other = make_variety(people[Role.GROWER])
        set_price(amount, kind=shop.retail, variety=other, first_day=LONG_AGO, by=manager)
    set_price(2_100, kind=shop.retail, group="zoanthid", first_day=LONG_AGO, by=manager)
    assert "$21.00" in text_at(client_for(None), lot.code_id)
    set_price(2_200, kind=shop.retail, variety=lot.variety, first_day=LONG_AGO, by=manager)
    assert "$22.00" in text_at(client_for(None), lot.code_id)
    set_price(2_300, kind=shop.retail, variety=lot.variety, size="M", first_day=today(), by=manager)
    assert "$23.00" in text_at(client_for(None), lot.code_id)
    set_price(2_400, kind=shop.retail, frag=lot, first_day=today() + timedelta(days=1), by=manager)
    set_price(500, kind=shop.shop, frag=lot, first_day=LONG_AGO, by=manager)
    assert "$23.00" in text_at(client_for(None), lot.code_id)
