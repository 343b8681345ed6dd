"""Forms that are sent twice lead to one paper, though the stock has changed since."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.ledger.models import Entry
from fraginv.stock.models import Claim, Cutting, Frag
from fraginv.trade.models import Payment, Sale
from tests.conftest import People
from tests.factories import make_colony
from tests.trade.rows import Shop, open_shop

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def sell_form(code: str) -> dict[str, object]:
    """Return the form that sells one piece at 10.00 and 6.25 % tax, with its key."""
    return {
        "channel": "counter",
        "means": "cash",
        "codes": code,
        "seen": "1063",
        "step": "sell",
        "replay_key": str(uuid4()),
    }


def test_a_sale_sent_twice_leads_to_the_same_paper(shop: Shop, client_for: ClientFor) -> None:
    frag = shop.priced_lot(1)
    seller = client_for(Role.SELLER)
    form = sell_form(frag.code_id)
    first = seller.post("/trade/sell", form)
    assert first.status_code == 303
    # The piece is gone, so that the view alone would find nothing to sell.
    assert Frag.objects.get(pk=frag.pk).pieces == 0
    entries = Entry.objects.count()
    for _ in range(2):
        again = seller.post("/trade/sell", form)
        assert (again.status_code, again["Location"]) == (303, first["Location"])
    assert Sale.objects.count() == Payment.objects.count() == Claim.objects.count() == 1
    assert Entry.objects.count() == entries
    unsent = seller.post("/trade/sell", sell_form(frag.code_id))
    assert unsent.status_code == 400
    assert Sale.objects.count() == 1


def test_the_key_of_a_sale_does_not_sell_something_else(shop: Shop, client_for: ClientFor) -> None:
    first, second = shop.priced_lot(1), shop.priced_lot(1)
    seller = client_for(Role.SELLER)
    form = sell_form(first.code_id)
    seller.post("/trade/sell", form)
    other = seller.post("/trade/sell", form | {"codes": second.code_id})
    assert other.status_code == 409
    assert "sent before with other content" in other.content.decode()
    by_another = client_for(Role.OWNER).post("/trade/sell", form)
    assert by_another.status_code == 409
    assert Sale.objects.count() == 1
    assert Frag.objects.get(pk=second.pk).free == 1


def test_a_form_that_failed_can_be_sent_again_with_its_key(
    shop: Shop, client_for: ClientFor
) -> None:
    frag = shop.priced_lot(1)
    seller = client_for(Role.SELLER)
    form = sell_form(frag.code_id)
    failed = seller.post("/trade/sell", form | {"seen": "1"})
    assert failed.status_code == 400
    assert seller.post("/trade/sell", form).status_code == 303
    assert Sale.objects.count() == 1


def test_nobody_learns_where_a_form_led(shop: Shop, client_for: ClientFor) -> None:
    frag = shop.priced_lot(1)
    form = sell_form(frag.code_id)
    client_for(Role.SELLER).post("/trade/sell", form)
    stranger = client_for(None).post("/trade/sell", form)
    assert stranger["Location"].startswith("/sign-in?")
    reader = client_for(Role.READER).post("/trade/sell", form)
    assert reader.status_code == 403


def test_a_cutting_sent_twice_is_one_cutting(people: People, client_for: ClientFor) -> None:
    colony = make_colony(people[Role.GROWER], rest_days=60)
    grower = client_for(Role.GROWER)
    form = {
        **{"pieces": "12", "lost": "1", "medium": "plug", "lot": "no"},
        **{"day": today().isoformat(), "replay_key": str(uuid4())},
    }
    answers = [grower.post(f"/stock/colonies/{colony.code_id}/cut", form) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0]["Location"] == answers[1]["Location"]
    assert (Cutting.objects.count(), Frag.objects.count()) == (1, 12)
