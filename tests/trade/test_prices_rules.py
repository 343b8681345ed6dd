"""Which price holds. The order of targets is the house's own decision; no outside source."""

from datetime import date

import pytest

from fraginv.base.errors import InputError
from fraginv.trade.rules.prices import (
    Offer,
    PriceMissing,
    Target,
    Wanted,
    check_price,
    choose_price,
    price_book,
)
from fraginv.trade.rules.words import Unit

DAY = date(2026, 11, 25)
PIECE = Wanted(frag=7, variety=3, variety_name="Lagoon Ember", group="zoanthid", size="M", heads=4)


def offer(amount: int, *, unit: Unit = Unit.PIECE, first: date = date(2026, 1, 1)) -> Offer:
    return Offer(amount=amount, unit=unit, first_day=first)


LADDER = [
    Target(frag=7),
    Target(variety=3, size="M"),
    Target(variety=3),
    Target(group="zoanthid", size="M"),
    Target(group="zoanthid"),
]


@pytest.mark.parametrize("step", range(len(LADDER)), ids=["own", "v+s", "v", "g+s", "g"])
def test_most_specific_target_wins(step: int) -> None:
    book = {target: offer(100 + place) for place, target in enumerate(LADDER)}
    for gone in LADDER[:step]:
        del book[gone]
    chosen = choose_price(book, PIECE, kind="retail")
    assert (chosen.amount, chosen.target) == (100 + step, LADDER[step])


@pytest.mark.parametrize(
    "target",
    [
        Target(frag=8),
        Target(variety=3, size="L"),
        Target(variety=4),
        Target(group="zoanthid", size="S"),
        Target(group="SPS"),
    ],
    ids=str,
)
def test_prices_of_others_do_not_count(target: Target) -> None:
    with pytest.raises(PriceMissing, match="no retail price for Lagoon Ember, size M"):
        choose_price({target: offer(100)}, PIECE, kind="retail")


def test_missing_price_says_where_to_mend_it() -> None:
    bare = Wanted(frag=None, variety=3, variety_name="Lagoon Ember", group="zoanthid")
    with pytest.raises(PriceMissing) as caught:
        choose_price({}, bare, kind="shop")
    assert caught.value.message == (
        "There is no shop price for Lagoon Ember. Set it under Prices, shop."
    )
    assert caught.value.data == {"variety": 3, "size": "", "kind": "shop"}


@pytest.mark.parametrize(
    ("heads", "amount"), [(1, 1200), (4, 4800), (0, 0)], ids=["one", "four", "none left"]
)
def test_head_price_times_heads(heads: int, amount: int) -> None:
    piece = Wanted(7, 3, "Lagoon Ember", "LPS", heads=heads)
    book = {Target(variety=3): offer(1200, unit=Unit.HEAD)}
    assert choose_price(book, piece, kind="retail").amount == amount


def test_head_price_without_heads_is_an_error() -> None:
    piece = Wanted(7, 3, "Lagoon Ember", "LPS")
    book = {Target(variety=3): offer(1200, unit=Unit.HEAD)}
    with pytest.raises(PriceMissing, match="its heads are not counted"):
        choose_price(book, piece, kind="retail")


@pytest.mark.parametrize(
    ("day", "amount"),
    [
        (date(2025, 12, 31), None),
        (date(2026, 1, 1), 100),
        (date(2026, 6, 30), 100),
        (date(2026, 7, 1), 300),
        (date(2026, 9, 1), 300),
    ],
    ids=str,
)
def test_latest_first_day_up_to_the_day(day: date, amount: int | None) -> None:
    target = Target(variety=3)
    july = date(2026, 7, 1)
    rows = [
        (target, offer(200, first=july)),
        (target, offer(100)),
        (target, offer(300, first=july)),
    ]
    found = price_book(rows, day=day).get(target)
    assert (found.amount if found else None) == amount


@pytest.mark.parametrize(
    ("amount", "target", "says"),
    [
        (-1, Target(variety=3), "cannot be negative"),
        (1, Target(), "for one frag, one variety or one group"),
        (1, Target(variety=3, group="SPS"), "for one frag, one variety or one group"),
        (1, Target(frag=7, size="M"), "needs no size"),
    ],
    ids=["negative", "nothing", "two things", "frag with size"],
)
def test_bad_prices_are_refused(amount: int, target: Target, says: str) -> None:
    with pytest.raises(InputError, match=says):
        check_price(amount, target=target)
    check_price(0, target=Target(variety=3, size="M"))
