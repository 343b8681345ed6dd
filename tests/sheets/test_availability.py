"""What is on the sheet, on real rows: what can be had now, and nothing else."""

from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.sheets.queries.availability import (
    Availability,
    availability,
    get_reader,
    mark_of,
    reader_named,
)
from fraginv.stock.actions.aside import keep_back, quarantine_frags, set_apart
from fraginv.stock.actions.claims import hold_frag, let_go
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Colony, Frag
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.rules.words import Unit
from tests.conftest import People
from tests.factories import make_frag, make_lot, make_rack, make_variety
from tests.sheets.rows import NOON, picture, price, stand
from tests.trade.rows import Shop, open_shop


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with clock.at(NOON):
        yield open_shop(people)


def sheet(shop: Shop) -> Availability:
    """Return the retail sheet of today."""
    return availability(shop.retail, day=NOON.date())


def pieces(shop: Shop) -> int:
    """Return how many pieces are on the retail sheet."""
    return sheet(shop).pieces


def test_frags_and_lots_of_a_variety_and_size_are_one_line(shop: Shop) -> None:
    variety = make_variety(shop.manager, name="Copper Weir")
    colony = stand(shop, variety, sizes="MML")[0].colony
    make_lot(shop.manager, 20, ready=True, colony=colony)
    price(shop, 2_500, variety=variety)
    lines = [(line.name, line.size, line.pieces, line.price) for line in sheet(shop).lines]
    assert lines == [("Copper Weir", "M", 22, 2_500), ("Copper Weir", "L", 1, 2_500)]


def test_what_is_sold_is_gone(shop: Shop) -> None:
    lot = shop.priced_lot(30)
    assert pieces(shop) == 30
    shop.sell(lot, 5, paid=5_313)
    assert pieces(shop) == 25
    shop.sell(lot, 25)
    assert sheet(shop).lines == []


def test_what_is_held_is_gone_and_comes_back_when_the_hold_runs_out(shop: Shop) -> None:
    lot = shop.priced_lot(30)
    hold = hold_frag(lot.pk, pieces=8, kind=ClaimKind.WALK, for_name="Ida", by=shop.seller)
    assert pieces(shop) == 22
    with clock.at(NOON + timedelta(minutes=31)):
        assert pieces(shop) == 30
    let_go(hold.pk, by=shop.seller)
    assert pieces(shop) == 30


def bar(shop: Shop, frag: Frag) -> None:
    """Bar the colony that a frag was cut from."""
    Colony.objects.filter(frags=frag).update(barred_because="held for an authority")


OUT: dict[str, Callable[[Shop, Frag], object]] = {
    "set apart": lambda shop, frag: set_apart([frag.pk], by=shop.manager),
    "quarantined": lambda shop, frag: quarantine_frags(
        [frag.pk], rack=make_rack(shop.manager, quarantine=True), by=shop.manager
    ),
    "kept back": lambda shop, frag: keep_back([frag.pk], kept=True, by=shop.manager),
    "lost": lambda shop, frag: record_loss(frag.pk, pieces=1, cause="pest", by=shop.manager),
    "barred": bar,
}


@pytest.mark.parametrize("act", OUT.values(), ids=OUT.keys())
def test_what_is_not_for_sale_is_not_on_it(shop: Shop, act: Callable[[Shop, Frag], object]) -> None:
    variety = make_variety(shop.manager)
    (frag,) = stand(shop, variety)
    make_frag(shop.manager, colony=frag.colony)  # still healing
    price(shop, 2_500, variety=variety)
    assert pieces(shop) == 1
    act(shop, frag)
    assert pieces(shop) == 0


def test_each_reader_sees_their_own_prices(shop: Shop) -> None:
    variety = make_variety(shop.manager)
    stand(shop, variety)
    price(shop, 2_500, variety=variety)
    price(shop, 1_600, kind=shop.shop, variety=variety)
    customer = shop.customer("Saltmarsh Corals")
    for_customer = availability(customer, day=NOON.date())
    assert [line.price for line in for_customer.lines] == [1_600]
    assert (for_customer.reader, for_customer.kind) == ("Saltmarsh Corals", "shop")
    assert [line.price for line in sheet(shop).lines] == [2_500]
    assert sheet(shop).reader == ""


def test_what_has_no_price_is_left_off_and_named(shop: Shop) -> None:
    priced, bare = make_variety(shop.manager), make_variety(shop.manager, name="Night Ferry")
    stand(shop, priced)
    stand(shop, bare, sizes="LLM")
    price(shop, 2_500, variety=priced)
    found = sheet(shop)
    assert found.pieces == 1
    assert [(one.name, one.size, one.pieces) for one in found.missing] == [
        ("Night Ferry", "M", 1),
        ("Night Ferry", "L", 2),
    ]
    assert found.left_off == 3
    assert found.missing[0].why == (
        "There is no retail price for Night Ferry, size M. Set it under Prices, retail."
    )


def test_a_price_by_the_head_parts_lines_by_heads(shop: Shop) -> None:
    variety = make_variety(shop.manager, genus="Euphyllia")
    frags = stand(shop, variety, sizes="MMM")
    grade_frags([frags[0].pk, frags[1].pk], size="M", heads=3, by=shop.manager)
    price(shop, 1_800, unit=Unit.HEAD, variety=variety)
    found = sheet(shop)
    (line,) = found.lines
    assert (line.heads, line.pieces, line.price, line.piece_price) == (3, 2, 1_800, 5_400)
    assert "heads are not counted" in found.missing[0].why


def test_a_frag_with_its_own_price_stands_alone_with_its_own_picture(shop: Shop) -> None:
    variety = make_variety(shop.manager)
    plain, picked, bare = stand(shop, variety, sizes="MMM")
    price(shop, 2_500, variety=variety)
    for frag in (picked, bare):
        price(shop, 9_900, frag=frag)
    of_plain, of_picked = picture(shop, plain), picture(shop, picked, shade=1)
    found = sheet(shop)
    shown = {
        (line.code, photo.pk if photo else None)
        for line in found.lines
        for photo in [found.photo_of(line)]
    }
    assert shown == {
        ("", of_plain.pk),
        (picked.code_id, of_picked.pk),
        (bare.code_id, None),
    }


def test_a_variety_shows_the_latest_picture_of_what_is_for_sale(shop: Shop) -> None:
    variety = make_variety(shop.manager)
    first, second, _ = stand(shop, variety, sizes="SML")
    price(shop, 2_500, variety=variety)
    picture(shop, first)
    with clock.at(NOON + timedelta(hours=1)):
        latest = picture(shop, second, shade=1)
    found = sheet(shop)
    assert {found.photo_of(line) for line in found.lines} == {latest}
    shop.sell(second, 1)
    left = sheet(shop)
    assert left.photo_of(left.lines[0]) != latest


@pytest.mark.parametrize(
    ("genus", "keys"),
    [
        pytest.param("Zoanthus", ["palytoxin"], id="zoanthid"),
        pytest.param("Acropora", ["cites"], id="stony"),
        pytest.param("Discosoma", [], id="mushroom"),
    ],
)
def test_cautions_follow_the_genus(shop: Shop, genus: str, keys: list[str]) -> None:
    variety = make_variety(shop.manager, genus=genus)
    stand(shop, variety)
    price(shop, 2_500, variety=variety)
    found = sheet(shop)
    assert list(found.lines[0].cautions) == keys
    assert [caution.key for caution in found.cautions] == keys


def test_the_document_holds_all_of_it(shop: Shop) -> None:
    shop.priced_lot(4)
    document = sheet(shop).document()
    assert list(document) == [
        "as_of",
        "valid_until",
        "for",
        "kind",
        "currency",
        "lines",
        "missing_prices",
    ]
    assert (document["as_of"], document["valid_until"]) == ("2026-11-25", "2026-12-02")
    assert document["currency"] == "USD"


def test_ten_times_the_stock_takes_no_more_statements(
    shop: Shop, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for count in (1, 10):
        for _ in range(count):
            variety = make_variety(shop.manager)
            (frag,) = stand(shop, variety)
            price(shop, 2_500, variety=variety)
            picture(shop, frag, shade=frag.pk)
        with django_assert_max_num_queries(5):
            found = sheet(shop)
        with django_assert_max_num_queries(0):
            document = found.document()
            marks = {photo.mark for line in found.lines if (photo := found.photo_of(line))}
        assert len(marks) == len(document["lines"])  # type: ignore[arg-type]
    assert len(found.lines) == 11


def test_readers_are_found_by_mark_and_by_name(shop: Shop) -> None:
    customer = shop.customer("Saltmarsh Corals")
    assert get_reader("") == shop.retail
    for reader in (shop.shop, customer):
        assert get_reader(mark_of(reader)) == reader
    assert reader_named(" saltmarsh  corals ") == customer
    assert reader_named("Shop") == shop.shop
    assert reader_named("") == shop.retail


@pytest.mark.parametrize(
    "mark", ["customer-999", "kind-0", "customer-", "frag-1", "kind-²", "x", "kind-99999999999"]
)
def test_a_wrong_mark_is_refused(shop: Shop, mark: str) -> None:
    with pytest.raises(NotFound, match="no such customer"):
        get_reader(mark)


def test_an_unknown_name_is_refused(shop: Shop) -> None:
    with pytest.raises(NotFound, match="no customer 'Nobody'"):
        reader_named("Nobody")
