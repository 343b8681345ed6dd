"""The button that sells a hold: its own address begins a sale of just what is held."""

import re
from collections.abc import Callable
from html import unescape
from urllib.parse import parse_qsl, urlsplit

import pytest
from django.test import Client

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.models import Frag
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.actions.pricing import set_price
from fraginv.trade.models import SaleLine
from fraginv.trade.queries.basket import fill_basket
from tests.conftest import People
from tests.factories import make_frag
from tests.trade.rows import LONG_AGO, Shop, open_shop

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def a_lot(shop: Shop) -> Frag:
    return shop.priced_lot(30)


def a_frag(shop: Shop) -> Frag:
    frag = make_frag(shop.manager, ready=True)
    set_price(1000, kind=shop.retail, variety=frag.variety, first_day=LONG_AGO, by=shop.manager)
    return frag


CASES = pytest.mark.parametrize(
    ("make", "pieces"), [(a_lot, 4), (a_frag, 1)], ids=["lot", "single frag"]
)


@CASES
@pytest.mark.parametrize("known", [True, False], ids=["customer", "name"])
def test_the_button_of_a_hold_sells_what_is_held(
    shop: Shop, client_for: ClientFor, make: Callable[[Shop], Frag], pieces: int, known: bool
) -> None:
    frag = make(shop)
    whose = {"party": shop.customer("Ines Varga", kind=shop.retail).party} if known else {}
    hold_frag(
        frag.pk,
        pieces=pieces,
        kind=ClaimKind.NAMED,
        by=shop.seller,
        for_name="" if known else "Ines Varga",
        **whose,  # type: ignore[arg-type]
    )
    seller = client_for(Role.SELLER)
    page = seller.get(f"/T/{frag.code_id}").content.decode()
    (found,) = re.findall(r'href="(/trade/sell\?[^"]*)">Sell<span[^>]*> to Ines Varga<', page)
    address = unescape(found)
    shown = seller.get(address)
    basket = shown.context["basket"]
    assert [(line.frag, line.pieces) for line in basket.lines] == [(frag, pieces)]
    sent = {"step": "sell", "seen": basket.sums.total, "means": "cash", "channel": "counter"}
    key = re.findall(r'name="replay_key" value="([^"]+)"', shown.content.decode())[0]
    asked = dict(parse_qsl(urlsplit(address).query))
    done = seller.post("/trade/sell", {**asked, **sent, "replay_key": key})
    assert done.status_code == 303, done.content.decode()
    line = SaleLine.objects.get()
    assert (line.frag, line.quantity) == (frag, pieces)


@CASES
def test_a_scanned_frag_that_is_held_for_them_stands_once(
    shop: Shop, make: Callable[[Shop], Frag], pieces: int
) -> None:
    frag = make(shop)
    hold = hold_frag(
        frag.pk, pieces=pieces, kind=ClaimKind.NAMED, by=shop.seller, for_name="Ines Varga"
    )
    basket = fill_basket([frag.code_id], pieces={}, customer=None, name="Ines Varga", discount=0)
    assert [line.key for line in basket.lines] == [f"hold-{hold.pk}"], show_code(frag.code_id)
    assert [line.pieces for line in basket.lines] == [pieces]
