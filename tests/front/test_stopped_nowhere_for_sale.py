"""What a stop-sale touches is offered nowhere, whatever it is a stop-sale of."""

import io
import json
from collections.abc import Callable, Iterator, Mapping
from typing import Final

import pytest
from django.core.management import call_command
from django.test import Client
from django.utils.html import escape

from fraginv.base import clock
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.sheets.queries.availability import availability
from fraginv.sheets.queries.papers import sheet_pdf
from fraginv.stock.actions.stops import Concern, end_stop, start_stop
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frags_with
from fraginv.trade.queries.price_table import price_table
from tests.base.papers import texts_of
from tests.conftest import People
from tests.factories import make_rack
from tests.reading import words_on
from tests.sheets.rows import NOON
from tests.trade.rows import Shop, open_shop

ClientFor = Callable[[Role | None], Client]
Offers = Callable[[Shop, Frag, ClientFor], bool]


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with clock.at(NOON):
        yield open_shop(people)


@pytest.fixture
def lot(shop: Shop) -> Frag:
    """A ready lot with a retail price, in a rack."""
    found = shop.priced_lot(4, rack=make_rack(shop.manager))
    (read,) = frags_with([found.pk])
    return read


def concern_of(lot: Frag, name: str) -> Concern:
    """Return what is stopped: where a lot stands, its colony or its kind."""
    assert lot.rack is not None
    assert lot.colony is not None
    concerns: Mapping[str, Concern] = {
        "system": lot.rack.trough.system,
        "trough": lot.rack.trough,
        "colony": lot.colony,
        "variety": lot.variety,
        "genus": lot.variety.genus,
    }
    return concerns[name]


def on_the_sheet(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    return any(lot.pk in line.frags for line in availability(shop.retail, day=NOON.date()).lines)


def on_the_sheets_page(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    return escape(lot.variety.name) in client_for(Role.SELLER).get("/sheets/").content.decode()


def on_paper(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    return lot.variety.name in " ".join(texts_of(sheet_pdf(shop.retail, day=NOON.date())))


def by_command(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    out = io.StringIO()
    call_command("sheet", "--json", stdout=out)
    return any(line["variety"] == lot.variety.name for line in json.loads(out.getvalue())["lines"])


def lacks_a_price(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    """Tell whether a shop's price is asked for, of which there is none."""
    lacks = price_table(shop.shop, day=NOON.date()).lacks
    return any(lack.variety == lot.variety_id for lack in lacks)


def to_visitors(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    page = words_on(client_for(None).get(f"/T/{lot.code_id}"))
    assert ("$10.00" in page) == ("Not for sale" not in page)
    return "$10.00" in page


def on_its_own_page(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    page = client_for(Role.SELLER).get(f"/T/{lot.code_id}").content.decode()
    assert ("/trade/sell?codes=" in page) == (f"/hold/{lot.code_id}" in page)
    return "/trade/sell?codes=" in page


def in_the_list_for_sale(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    page = words_on(client_for(Role.SELLER).get("/frags?stage=sale"))
    return show_code(lot.code_id) in page


def in_a_narrowed_list(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    rows = client_for(Role.SELLER).get(f"/frags.csv?stage=sale&variety={lot.variety_id}")
    return show_code(lot.code_id).encode() in b"".join(rows.streaming_content)  # type: ignore[attr-defined]


def in_the_basket(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    page = words_on(client_for(Role.SELLER).get(f"/trade/sell?codes={lot.code_id}"))
    return "stop-sale" not in page


def to_a_scan(shop: Shop, lot: Frag, client_for: ClientFor) -> bool:
    headers = {"accept": "application/json"}
    answer = client_for(Role.SELLER).get("/scan/look", {"code": lot.code_id}, headers=headers)
    return "stop-sale" not in answer.json()["said"]


PLACES: Final[Mapping[str, Offers]] = {
    "the sheet": on_the_sheet,
    "the sheet's page": on_the_sheets_page,
    "the sheet on paper": on_paper,
    "the sheet's command": by_command,
    "what lacks a price": lacks_a_price,
    "the visitor's page": to_visitors,
    "its own page": on_its_own_page,
    "the list of what is for sale": in_the_list_for_sale,
    "a narrowed list": in_a_narrowed_list,
    "the basket": in_the_basket,
    "a scan": to_a_scan,
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", ["system", "trough", "colony", "variety", "genus"])
def test_what_is_stopped_is_offered_nowhere(
    shop: Shop, lot: Frag, client_for: ClientFor, name: str, place: str
) -> None:
    offers = PLACES[place]
    assert offers(shop, lot, client_for)
    concern = concern_of(lot, name)
    stop = start_stop(concern, reason="Flatworms", ends_when="clean checks", by=shop.manager)
    assert not offers(shop, lot, client_for)
    end_stop(stop.pk, because="Clean.", by=shop.manager)
    assert offers(shop, lot, client_for)
