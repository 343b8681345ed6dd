"""Holding, selling, paying and crediting through the pages."""

import re
from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.http import HttpResponse
from django.test import Client
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_codes
from fraginv.base.models import Code, Organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.models import Claim, Frag
from fraginv.trade.actions.customers import hold_for_customer
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Credit, Payment, Sale
from fraginv.trade.rules.asked import SaleItem
from fraginv.trade.rules.words import Means
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_variety
from tests.trade.rows import Shop, open_shop

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def seller(client_for: ClientFor) -> Client:
    return client_for(Role.SELLER)


def text_of(answer: Any) -> str:
    """Return a page's text with its entities and line breaks smoothed."""
    return " ".join(answer.content.decode().replace("&#x27;", "'").replace("&amp;", "&").split())


def send(client: Client, path: str, **fields: object) -> HttpResponse:
    """Send a form with a key of its own."""
    return client.post(path, {"replay_key": str(uuid4())} | fields)  # type: ignore[return-value]


def basket(**fields: object) -> dict[str, object]:
    return {"channel": "counter", "means": "cash"} | fields


def test_hold_from_the_frags_page_and_the_next_is_told(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(5)
    path = f"/trade/hold/{lot.code_id}"
    assert seller.get(path).status_code == 200
    done = send(seller, path, pieces=4, name="Ines Varga", kind="named")
    assert (done.status_code, done["Location"]) == (303, f"/T/{lot.code_id}")
    told = send(seller, path, pieces=2, name="Next One", kind="walk")
    assert told.status_code == 400
    assert "1 free of 5: Ines Varga has 4 until" in text_of(told)
    assert "Ines Varga" in text_of(seller.get(path))
    assert Claim.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"pieces": 6, "name": "Ines"}, "5 living pieces, not 6"),
        ({"pieces": 0, "name": "Ines"}, "at least 1"),
        ({"pieces": -1, "name": "Ines"}, "at least 1"),
        ({"pieces": 1}, "for whom"),
        ({"pieces": 1, "name": "Ines", "until": "2020-01-01T12:00"}, "in the past"),
        ({"pieces": "some", "name": "Ines"}, "whole number"),
    ],
    ids=["too many", "none", "negative", "nobody", "past", "no number"],
)
def test_bad_holds_say_why(
    shop: Shop, seller: Client, fields: dict[str, object], says: str
) -> None:
    lot = shop.priced_lot(5)
    answer = send(seller, f"/trade/hold/{lot.code_id}", kind="named", **fields)
    assert answer.status_code == 400
    assert says in text_of(answer)
    assert not Claim.objects.exists()


def test_hold_without_a_price_says_where_to_set_it(shop: Shop, seller: Client) -> None:
    frag = make_frag(shop.manager, ready=True)
    answer = send(seller, f"/trade/hold/{frag.code_id}", kind="named", pieces=1, name="Ines")
    assert answer.status_code == 400
    said = f"no retail price for {frag.variety.name}, size M. Set it under Prices"
    assert said in text_of(answer)


def test_let_go_frees_the_pieces_once(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(5)
    hold = hold_for_customer(lot.pk, pieces=4, for_name="Ines", by=shop.seller)
    path = f"/trade/let-go/{hold.pk}"
    assert seller.get(path).status_code == 403
    done = send(seller, path, back="/trade/customers")
    assert (done.status_code, done["Location"]) == (303, "/trade/customers")
    assert Frag.objects.get(pk=lot.pk).free == 5
    again = send(seller, path)
    assert again.status_code == 409
    assert "has ended already" in text_of(again)


def test_holds_of_a_name_are_sold_at_one_press(shop: Shop, seller: Client) -> None:
    lot, other = shop.priced_lot(5), shop.priced_lot(3, price=2500)
    hold = hold_for_customer(lot.pk, pieces=4, for_name="Ines Varga", by=shop.seller)
    assert "name=Ines%20Varga" in seller.get("/trade/sell").content.decode()
    page = text_of(seller.get(f"/trade/sell?name=Ines Varga&code={other.code_id}"))
    assert show_code(other.code_id) in page
    assert "Sell for $69.06" in page
    sent = basket(name="Ines Varga", codes=[other.code_id], seen="6906", step="sell")
    done = send(seller, "/trade/sell", **sent)
    sale = Sale.objects.get()
    assert (done.status_code, done["Location"]) == (303, f"/trade/sales/{sale.pk}")
    assert (sale.total, sale.balance.owed) == (6906, 0)
    assert Claim.objects.get(pk=hold.pk).ended_how == "sold"


def test_what_is_not_well_is_sold_with_a_word(shop: Shop, seller: Client) -> None:
    lot, fine = shop.priced_lot(5), shop.priced_lot(3)
    mark_wrong([lot.pk], wrong="bleaching", by=shop.manager)
    asked = basket(codes=[lot.code_id, fine.code_id])
    page = text_of(send(seller, "/trade/sell", **asked, step="count"))
    assert page.count("tag--wrong") == page.count("not well: bleaching") == 1
    assert "not well" in text_of(seller.get(f"/trade/hold/{lot.code_id}"))
    whom = shop.customer(kind=shop.retail)
    hold_for_customer(lot.pk, pieces=1, customer=whom, by=shop.seller)
    assert "not well" in text_of(seller.get(f"/trade/customers/{whom.pk}"))
    seen = re.findall(r'name="seen" value="(\d+)"', page)
    sold = send(seller, "/trade/sell", **asked, step="sell", seen=seen[0])
    assert sold.status_code == 303


def test_counting_writes_nothing_and_a_changed_total_is_shown_first(
    shop: Shop, seller: Client
) -> None:
    lot = shop.priced_lot(5)
    sent = basket(codes=[lot.code_id], seen="1063") | {f"pieces-code-{lot.code_id}": 3}
    counted = send(seller, "/trade/sell", step="count", **sent)
    assert counted.status_code == 200
    assert "Sell for $31.88" in text_of(counted)
    refused = send(seller, "/trade/sell", step="sell", **sent)
    assert refused.status_code == 400
    assert "The total is now $31.88. Look at it, and press Sell again." in text_of(refused)
    assert not Sale.objects.exists()
    sold = send(seller, "/trade/sell", step="sell", **(sent | {"seen": "3188"}))
    assert sold.status_code == 303
    assert Sale.objects.get().lines.get().quantity == 3


def test_same_form_sent_twice_sells_once(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(5)
    sent = basket(codes=[lot.code_id], seen="1063", step="sell", replay_key=str(uuid4()))
    first = seller.post("/trade/sell", sent)
    second = seller.post("/trade/sell", sent)
    assert first["Location"] == second["Location"]
    assert Sale.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"amount": "10.64"}, "10.64 USD is more than what is owed, 10.63 USD"),
        ({"amount": "-1"}, "more than nothing"),
        ({"amount": "1,000"}, "write it without separators: 1000."),
        ({"discount": "10.01"}, "10.01 USD is more than the sale comes to, 10.00 USD"),
        ({"means": "later"}, "Choose a customer or write a name"),
        ({"means": "account"}, "walk-in has no credit"),
        ({"means": "shells"}, "Select a valid choice"),
        ({"codes": []}, "nothing to sell"),
        ({"pieces": "x"}, "is not a whole number"),
        ({"pieces": "0"}, "nothing to sell"),
        ({"pieces": "6", "seen": "6375"}, "5 can be had, not 6"),
        ({"code": "7K3-Q9F"}, "code"),
    ],
    ids=str,
)
def test_bad_baskets_say_why(
    shop: Shop, seller: Client, fields: dict[str, object], says: str
) -> None:
    lot = shop.priced_lot(5)
    sent = basket(codes=[lot.code_id], seen="1063", step="sell") | fields
    if "pieces" in sent:
        sent[f"pieces-code-{lot.code_id}"] = sent.pop("pieces")
    answer = send(seller, "/trade/sell", **sent)
    assert answer.status_code == 400
    assert says in text_of(answer)
    assert not Sale.objects.exists()
    assert Frag.objects.get(pk=lot.pk).free == 5


def test_scanning_what_another_has_says_who_and_until_when(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(2)
    hold_for_customer(lot.pk, pieces=2, for_name="Ines Varga", by=shop.seller)
    young = make_frag(shop.manager)
    page = text_of(seller.get(f"/trade/sell?code=https://reef.test/T/{lot.code_id}"))
    assert "has none free: Ines Varga has 2 until" in page
    assert "still healing" in text_of(seller.get(f"/trade/sell?code={young.code_id}"))
    twice = seller.get(f"/trade/sell?name=Ines Varga&code={lot.code_id}")
    assert "is on the list already" in text_of(twice)


def test_hold_that_ran_out_is_free_to_the_next(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(2)
    hold_for_customer(lot.pk, pieces=2, for_name="Ines Varga", by=shop.seller)
    with clock.at(clock.now() + timedelta(days=5)):
        seller.force_login(shop.seller)
        sent = basket(codes=[lot.code_id], seen="1063", step="sell")
        assert send(seller, "/trade/sell", **sent).status_code == 303


def test_missing_price_is_shown_with_a_way_to_mend_it(shop: Shop, seller: Client) -> None:
    frag = make_frag(shop.manager, ready=True)
    shown = text_of(seller.get(f"/trade/sell?code={frag.code_id}"))
    assert "no retail price for" in shown
    assert f"/trade/prices/set?variety={frag.variety_id}&size=M" in shown


def test_paying_in_parts(shop: Shop, seller: Client) -> None:
    sale = shop.sell(shop.priced_lot(5), 2)
    path = f"/trade/sales/{sale.pk}/pay"
    day = sale.day.isoformat()
    assert "$21.25" in text_of(seller.get(path))
    too_much = send(seller, path, amount="21.26", means="cash", day=day)
    assert too_much.status_code == 400
    assert "21.26 USD is more than what is owed, 21.25 USD" in text_of(too_much)
    assert send(seller, path, amount="21.25", means="card", day=day).status_code == 303
    assert seller.get(path).status_code == 409
    assert Payment.objects.count() == 1


def test_crediting_a_part(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(5)
    sale = shop.sell(lot, 3, paid=3188)
    line = f"line{sale.lines.get().pk}"
    path = f"/trade/sales/{sale.pk}/credit"
    assert "3 pieces at $10.00" in text_of(seller.get(path))
    sent: dict[str, object] = {f"{line}-pieces": 2, f"{line}-alive": 1, "reason": "dead on arrival"}
    unsaid = send(seller, path, **sent)
    assert unsaid.status_code == 400
    assert "goes back to the customer. Choose how." in text_of(unsaid)
    assert send(seller, path, refund_means="cash").status_code == 400
    bad = send(seller, path, **{f"{line}-pieces": "many"})
    assert "Look at the lines below" in text_of(bad)
    done = send(seller, path, refund_means="cash", **sent)
    assert done.status_code == 303
    assert (Credit.objects.get().net, Frag.objects.get(pk=lot.pk).free) == (2000, 3)
    page = text_of(seller.get(done["Location"]))
    assert "dead on arrival" in page
    assert "2 pieces, 1 alive" in page


def test_sale_on_screen_shows_its_entry_to_those_who_see_money(
    shop: Shop, client_for: ClientFor, seller: Client
) -> None:
    sale = shop.sell(shop.priced_lot(5), 3, paid=1000, for_name="Ines <Varga>")
    page = text_of(client_for(Role.MANAGER).get(f"/trade/sales/{sale.pk}"))
    assert "Ines &lt;Varga&gt;" in page
    for words in ("Sales: SPS", "Sales tax payable", "Receivables", sale.paper, "$31.88", "$21.88"):
        assert words in page
    assert "Sales tax payable" not in text_of(seller.get(f"/trade/sales/{sale.pk}"))
    assert seller.get("/trade/sales/0").status_code == 404


def read(pdf: bytes) -> str:
    reader = PdfReader(BytesIO(pdf))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize(("paper", "width"), [("letter", 612), ("a4", 595)])
def test_receipt_reads_back_the_same_every_time(
    shop: Shop, seller: Client, paper: str, width: int
) -> None:
    Organisation.objects.filter(pk=1).update(paper=paper)
    lot = shop.priced_lot(5)
    sale = shop.sell(lot, 3, discount=100, for_name="Ines Varga", paid=1000)
    take_payment(sale.pk, amount=100, means=Means.CARD, by=shop.seller)
    path = f"/trade/sales/{sale.pk}/receipt.pdf"
    answer = seller.get(path)
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content == seller.get(path).content
    text = read(answer.content)
    for words in (
        sale.paper,
        "Ines Varga",
        show_code(lot.code_id),
        "$30.00",
        "Sales tax 6.25% $1.81",
        "$30.81",
        "Paid by cash",
        "Paid by card",
        "$19.81",
        "Tidewater Hall Aquarium",
    ):
        assert words in text, words
    assert round(float(PdfReader(BytesIO(answer.content)).pages[0].mediabox.width)) == width


def test_list_of_sales_walks_back_page_by_page(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(50)
    for _ in range(41):
        post_sale([SaleItem(lot.pk, 1)], by=shop.seller, for_name="A")
    first = seller.get("/trade/sales")
    assert first.content.decode().count("list__link") == 40
    last = first.context["last"]
    second = seller.get(f"/trade/sales?day={last.day}&sale={last.pk}")
    assert second.content.decode().count("list__link") == 1
    assert seller.get("/trade/sales?day=2026-11-25&sale=x").status_code == 400
    assert seller.get("/trade/sales?owed=yes").content.decode().count("list__link") == 40


@pytest.mark.parametrize("count", [1, 6], ids=["one", "six"])
def test_pages_ask_no_more_for_more_rows(
    shop: Shop,
    seller: Client,
    count: int,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    lots = [shop.priced_lot(5) for _ in range(count)]
    for lot in lots:
        hold_for_customer(lot.pk, pieces=1, for_name="Ines", by=shop.seller)
    sale = post_sale([SaleItem(lot.pk, 1) for lot in lots], by=shop.seller)
    take_payment(sale.pk, amount=1, means=Means.CASH, by=shop.seller)
    for path, most in {
        "/trade/sell?name=Ines": 11,
        f"/trade/hold/{lots[0].code_id}": 7,
        "/trade/sales": 4,
        f"/trade/sales/{sale.pk}": 13,
        f"/trade/sales/{sale.pk}/credit": 13,
        f"/trade/sales/{sale.pk}/pay": 13,
    }.items():
        with django_assert_max_num_queries(most):
            assert seller.get(path).status_code == 200


def test_line_is_taken_out_by_its_button(shop: Shop, seller: Client) -> None:
    lot, other = shop.priced_lot(5), shop.priced_lot(3, price=2500)
    hold = hold_for_customer(lot.pk, pieces=4, for_name="Ines Varga", by=shop.seller)
    sent = basket(name="Ines Varga", codes=[other.code_id]) | {f"pieces-code-{other.code_id}": 2}
    without_code = send(seller, "/trade/sell", remove=f"code-{other.code_id}", **sent)
    assert [line.frag for line in without_code.context["basket"].lines] == [lot]  # type: ignore[attr-defined]
    assert "Sell for $42.50" in text_of(without_code)
    without_hold = send(seller, "/trade/sell", remove=f"hold-{hold.pk}", **sent)
    assert "Sell for $53.13" in text_of(without_hold)
    assert Claim.objects.get(pk=hold.pk).ended_at is None


def test_basket_that_was_sold_meanwhile_cannot_be_sold(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(1)
    shop.sell(lot, 1)
    sent = basket(codes=[lot.code_id], seen="1063", step="sell")
    answer = send(seller, "/trade/sell", **sent)
    assert answer.status_code == 400
    assert f"{show_code(lot.code_id)} is not for sale: " in text_of(answer)
    assert 'value="sell"' not in answer.content.decode()
    assert Sale.objects.count() == 1


def test_code_of_no_frag_says_where_to_go(shop: Shop, seller: Client) -> None:
    lot = shop.priced_lot(1)
    assert lot.colony is not None
    page = text_of(seller.get(f"/trade/sell?code={lot.colony.code_id}"))
    assert "is a colony, and a colony is not sold here" in page
    for kind, says in {
        Code.Kind.BLANK: "on no frag yet",
        Code.Kind.RACK: "Scan the label of the frag itself",
    }.items():
        (code,) = issue_codes(1, kind=kind)
        assert says in text_of(seller.get(f"/trade/sell?code={code.code}"))


@pytest.mark.parametrize(("genus", "warned"), [("Zoanthus", True), ("Acropora", False)])
def test_zoanthids_are_sold_with_their_caution(
    shop: Shop, seller: Client, genus: str, warned: bool
) -> None:
    variety = make_variety(shop.manager, genus=genus)
    sale = shop.sell(shop.priced_lot(2, colony=make_colony(shop.manager, variety=variety)), 1)
    caution = "May carry palytoxin"
    page = text_of(seller.get(f"/trade/sales/{sale.pk}"))
    assert (caution in page, variety.name in page) == (warned, True)
    receipt = read(seller.get(f"/trade/sales/{sale.pk}/receipt.pdf").content)
    assert (f"{variety.name}. {caution}" in receipt) == warned
