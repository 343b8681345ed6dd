"""Sales through real rows."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import NumberSeries
from fraginv.base.queries.organisation import today
from fraginv.ledger.models import Entry
from fraginv.ledger.queries import ledger_differences
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.grading import grade_frags, mark_not_ready
from fraginv.stock.models import Claim, Frag
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.actions.customers import hold_for_customer, set_certificate
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Payment, Sale, SaleLine
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.rules.asked import SaleItem, Tender
from fraginv.trade.rules.certificates import Certificate
from fraginv.trade.rules.prices import PriceMissing
from fraginv.trade.rules.words import Basis, Channel, Means, Unit
from tests.conftest import People
from tests.factories import make_frag, make_lot
from tests.trade.rows import CERTIFICATE, LONG_AGO, Shop, open_shop, refused


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def nothing_differs() -> bool:
    return not [*trade_differences(), *stock_differences(), *ledger_differences()]


def postings(source: str, paper: str) -> dict[str, int]:
    entry = Entry.objects.get(source=source, paper=paper)
    return dict(entry.lines.values_list("account", "amount"))


def test_sale_takes_pieces_writes_a_paper_and_posts_one_entry(shop: Shop) -> None:
    lot = shop.priced_lot(30, price=1000)
    sale = shop.sell(lot, 3, off=200, discount=300, channel=Channel.OPEN_DAY, paid=1000)
    lot.refresh_from_db()
    assert (lot.pieces, lot.free) == (27, 27)
    assert (sale.gross, sale.discounts, sale.net, sale.tax, sale.total) == (
        3000,
        500,
        2500,
        156,
        2656,
    )
    assert (sale.channel, sale.tax_rate, sale.tax_basis) == (
        "open day",
        Decimal("0.0625"),
        "invoice",
    )
    line = sale.lines.get()
    assert (line.quantity, line.unit_price, line.group) == (3, 1000, "SPS")
    assert line.claim is not None
    assert line.claim.kind == "sale"
    assert postings("sale", sale.paper) == {
        "1100": 2656,
        "4010": -3000,
        "4800": 500,
        "2100": -156,
    }
    assert postings("payment", sale.payments.get().paper) == {"1000": 1000, "1100": -1000}
    assert sale.balance.owed == 1656
    assert nothing_differs()


# TX-3 rows of the sums' tests, through papers: the basis is kept on the sale.
@pytest.mark.parametrize(
    ("basis", "tax"), [(Basis.ITEM, 489), (Basis.INVOICE, 488)], ids=["item", "invoice"]
)
def test_tax_of_each_basis_on_a_paper(people: People, basis: Basis, tax: int) -> None:
    shop = open_shop(people, rate="0.07", basis=basis)
    lots = [shop.priced_lot(2, price=price) for price in (3500, 2250, 1225)]
    sale = post_sale([SaleItem(lot.pk, 1) for lot in lots], by=shop.seller)
    assert (sale.tax, sale.tax_basis) == (tax, basis.value)
    assert sum(line.tax for line in sale.lines.all()) == tax
    set_tax_rate(Decimal("0.5"), basis=Basis.ITEM, first_day=LONG_AGO, by=shop.manager)
    assert Sale.objects.get(pk=sale.pk).tax == tax
    assert nothing_differs()


def test_rate_of_the_day_of_sale(shop: Shop) -> None:
    lot = shop.priced_lot(10)
    set_tax_rate(Decimal("0.1"), basis=Basis.INVOICE, first_day=today(), by=shop.manager)
    assert shop.sell(lot, 1).tax == 100
    assert shop.sell(lot, 1, day=today() - timedelta(days=1)).tax == 63


def test_no_rate_in_force_is_an_error(people: People) -> None:
    shop = open_shop(people)
    lot = shop.priced_lot(5)
    set_price(10, kind=shop.retail, frag=lot, first_day=date(2019, 1, 1), by=shop.manager)
    with refused(InputError, match="No sales tax rate is in force on 2019-12-31"):
        shop.sell(lot, 1, day=date(2019, 12, 31))
    assert not Sale.objects.exists()


def test_resale_certificate_lifts_the_tax_only_while_it_is_valid(shop: Shop) -> None:
    lot = shop.priced_lot(10)
    set_price(500, kind=shop.shop, variety=lot.variety, first_day=LONG_AGO, by=shop.manager)
    buyer = shop.customer(certificate=CERTIFICATE)
    sale = shop.sell(lot, 1, customer=buyer)
    assert (sale.tax, sale.total, sale.exempt_by) == (0, 500, "Northmark NK-4471")
    ended = Certificate("Northmark", "NK-4471", LONG_AGO, today() - timedelta(days=1))
    buyer = set_certificate(buyer.pk, certificate=ended, by=shop.seller)
    later = shop.sell(lot, 1, customer=buyer)
    assert (later.tax, later.exempt_by) == (31, "")
    buyer = set_certificate(buyer.pk, certificate=Certificate("", "", None, None), by=shop.seller)
    assert shop.sell(lot, 1, customer=buyer).tax == 31
    assert nothing_differs()


def test_hold_becomes_the_sale(shop: Shop) -> None:
    lot = shop.priced_lot(30)
    hold = hold_for_customer(lot.pk, pieces=5, for_name="Ines Varga", by=shop.seller)
    sale = post_sale([SaleItem(lot.pk, 4, hold.pk)], by=shop.seller, for_name="Ines Varga")
    lot.refresh_from_db()
    assert (lot.pieces, lot.free) == (26, 26)
    claim = sale.lines.get().claim
    assert claim is not None
    assert claim.came_from.pk == hold.pk
    assert sale.paper_name is not None
    assert sale.paper_name.name == "Ines Varga"
    assert nothing_differs()


def test_second_seller_is_told_who_has_what_until_when(shop: Shop) -> None:
    lot = shop.priced_lot(5)
    hold_for_customer(lot.pk, pieces=4, for_name="Ines Varga", by=shop.seller)
    with refused(Conflict, match=r"1 free of 5: Ines Varga has 4 until \d{4}-\d\d-\d\d"):
        shop.sell(lot, 2)
    assert not Sale.objects.exists()
    assert not NumberSeries.objects.filter(series="S").exists()


def test_hold_of_one_customer_is_not_sold_to_another(shop: Shop) -> None:
    lot = shop.priced_lot(5)
    mine, other = (shop.customer(name, kind=shop.retail) for name in ("Saltmarsh", "Eastquay"))
    hold = hold_for_customer(lot.pk, pieces=2, customer=mine, by=shop.seller)
    with refused(Conflict, match="is put aside for Saltmarsh"):
        post_sale([SaleItem(lot.pk, 2, hold.pk)], by=shop.seller, customer=other)
    sale = post_sale([SaleItem(lot.pk, 2, hold.pk)], by=shop.seller, customer=mine)
    assert sale.customer == mine


def test_hold_that_ran_out_is_no_longer_sold(shop: Shop) -> None:
    lot = shop.priced_lot(5)
    hold = hold_for_customer(lot.pk, pieces=2, kind=ClaimKind.WALK, for_name="A", by=shop.seller)
    with (
        clock.at(clock.now() + timedelta(hours=1)),
        refused(Conflict, match="The hold of A has ended"),
    ):
        post_sale([SaleItem(lot.pk, 2, hold.pk)], by=shop.seller)


def test_price_missing_is_an_error_and_nothing_is_written(shop: Shop) -> None:
    frag = make_frag(shop.manager, ready=True)
    with refused(PriceMissing, match=f"no retail price for {frag.variety.name}, size M"):
        shop.sell(frag, 1)
    with refused(PriceMissing):
        hold_for_customer(frag.pk, pieces=1, for_name="Ines", by=shop.seller)
    assert not Claim.objects.exists()


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"paid": 32000}, "320.00 USD is more than what is owed, 318.75 USD"),
        ({"discount": 30001}, "300.01 USD is more than the sale comes to, 300.00 USD"),
        ({"off": 30001}, "300.01 USD is more than line 1 comes to"),
        ({"off": -1}, "negative"),
        ({"day": date(2999, 1, 1)}, "in the future"),
    ],
    ids=["paid too much", "discount", "line discount", "negative", "future"],
)
def test_bad_sales_write_nothing(shop: Shop, fields: dict[str, Any], says: str) -> None:
    lot = shop.priced_lot(30)
    with refused(InputError, match=says):
        shop.sell(lot, 30, **fields)
    lot.refresh_from_db()
    assert lot.free == 30
    assert not Sale.objects.exists()


@pytest.mark.parametrize("pieces", [0, -1, 31], ids=["none", "negative", "too many"])
def test_bad_numbers_of_pieces_write_nothing(shop: Shop, pieces: int) -> None:
    lot = shop.priced_lot(30)
    with refused(InputError):
        shop.sell(lot, pieces)
    assert not Sale.objects.exists()
    assert not Claim.objects.exists()


def test_hold_in_the_past_is_refused(shop: Shop) -> None:
    lot = shop.priced_lot(3)
    with refused(InputError, match="past"):
        hold_for_customer(
            lot.pk,
            pieces=1,
            for_name="Ines",
            until=clock.now() - timedelta(minutes=1),
            by=shop.seller,
        )


def test_own_price_needs_the_right(shop: Shop) -> None:
    lot = shop.priced_lot(3)
    with refused(NotAllowed, match="does not let you change a price"):
        post_sale([SaleItem(lot.pk, 1, unit_price=1)], by=shop.seller)
    sale = post_sale([SaleItem(lot.pk, 1, unit_price=1)], by=shop.manager)
    assert sale.gross == 1


def test_price_by_the_head(shop: Shop) -> None:
    frag = make_frag(shop.manager)
    grade_frags([frag.pk], size="M", heads=3, by=shop.manager)
    set_price(
        1200,
        kind=shop.retail,
        variety=frag.variety,
        unit=Unit.HEAD,
        first_day=LONG_AGO,
        by=shop.manager,
    )
    line = shop.sell(frag, 1).lines.get()
    assert line.unit_price == 3600
    assert "3 heads at $12.00" in line.text


def test_piece_without_a_price_to_pay_is_given_a_paper(shop: Shop) -> None:
    lot = shop.priced_lot(3, price=0)
    sale = shop.sell(lot, 1)
    assert (sale.total, sale.balance.owed) == (0, 0)
    assert not Entry.objects.filter(paper=sale.paper).exists()
    assert nothing_differs()


def test_numbers_have_no_gaps_and_start_anew_each_year(shop: Shop) -> None:
    lot = shop.priced_lot(10)
    papers = []
    for day in (date(2024, 12, 31), date(2025, 1, 1), date(2024, 12, 30)):
        papers.append(shop.sell(lot, 1, day=day).paper)
        with refused(InputError):
            shop.sell(lot, 1, day=day, discount=99999)
    assert papers == ["S-2024-0001", "S-2025-0001", "S-2024-0002"]
    assert nothing_differs()


def test_several_frags_are_taken_by_ascending_id(shop: Shop) -> None:
    lots = [shop.priced_lot(2) for _ in range(3)]
    items = [SaleItem(lot.pk, 1) for lot in reversed(lots)]
    sale = post_sale(items, by=shop.seller)
    taken = list(
        SaleLine.objects.filter(sale=sale).order_by("claim").values_list("frag", flat=True)
    )
    assert taken == sorted(lot.pk for lot in lots)


def test_one_frag_gone_leaves_the_others(shop: Shop) -> None:
    first, second = shop.priced_lot(2), shop.priced_lot(2)
    hold_frag(second.pk, pieces=2, kind=ClaimKind.NAMED, for_name="Ines", by=shop.seller)
    with refused(Conflict, match="Ines has 2"):
        post_sale([SaleItem(first.pk, 1), SaleItem(second.pk, 1)], by=shop.seller)
    assert Frag.objects.get(pk=first.pk).free == 2


def test_posted_papers_refuse_change_and_deletion(shop: Shop) -> None:
    sale = shop.sell(shop.priced_lot(3), 1, paid=500)
    line, payment = sale.lines.get(), sale.payments.get()
    for paper in (sale, line, payment):
        with refused(Conflict, match="stays as it is"):
            paper.save()
        with refused(Conflict, match="stays as it is"):
            paper.delete()
    for rows in (Sale.objects, SaleLine.objects, Payment.objects):
        with refused(Conflict, match="stays as it is"):
            rows.filter(pk__gte=0).update(tax=0)
        with refused(Conflict, match="stays as it is"):
            rows.all().delete()


def test_cost_of_a_sale_in_queries(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    lots = [shop.priced_lot(5) for _ in range(4)]
    shop.sell(lots[0], 1, paid=10)
    with django_assert_max_num_queries(40):
        post_sale([SaleItem(lots[0].pk, 1)], by=shop.seller, payment=Tender(Means.CARD, 10))
    with django_assert_max_num_queries(40 + 3 * 9):
        post_sale([SaleItem(lot.pk, 1) for lot in lots], by=shop.seller)
    assert connection.vendor in {"sqlite", "postgresql"}


def test_lot_cut_by_another_is_sold_whole(shop: Shop) -> None:
    lot = make_lot(shop.manager, 2, ready=True)
    set_price(700, kind=shop.retail, frag=lot, first_day=LONG_AGO, by=shop.manager)
    assert shop.sell(lot, 2).gross == 1400
    lot.refresh_from_db()
    assert (lot.stage, lot.pieces) == ("sold", 0)


def test_a_fresh_cut_says_so_on_its_paper(shop: Shop) -> None:
    lot = shop.priced_lot(30)
    plain = shop.sell(lot, 1)
    mark_not_ready([lot.pk], by=shop.manager)
    grade_frags([lot.pk], size="S", fresh=True, by=shop.manager)
    fresh = shop.sell(lot, 1)
    grade_frags([lot.pk], size="S", by=shop.manager)
    assert "fresh cut" not in plain.lines.get().text
    assert f"{lot.variety.name}, size S, fresh cut (" in fresh.lines.get().text
    assert nothing_differs()
