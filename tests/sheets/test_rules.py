"""How frags become the lines of a sheet."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.sheets.rules import (
    Missing,
    SheetLine,
    Words,
    good_until,
    line_document,
    missing_prices,
    sheet_lines,
    shelves,
    words_of,
)
from fraginv.taxa.rules import GROUPS
from fraginv.trade.rules.words import Unit

SIZES = ("S", "M", "L", "mini")


def one(**overrides: Any) -> SheetLine:
    """Return one frag as a line of its own."""
    fields: dict[str, Any] = {
        "variety": 1,
        "name": "Copper Weir",
        "latin": "Montipora sp.",
        "group": "SPS",
        "size": "M",
        "pieces": 1,
        "price": 2_500,
        "unit": Unit.PIECE,
        "frags": (1,),
    }
    return SheetLine(**(fields | overrides))


@pytest.mark.parametrize(
    ("other", "together"),
    [
        pytest.param({}, True, id="alike"),
        pytest.param({"pieces": 30}, True, id="a lot"),
        pytest.param({"size": "L"}, False, id="another size"),
        pytest.param({"variety": 2}, False, id="another variety"),
        pytest.param({"price": 2_400}, False, id="another price"),
        pytest.param({"unit": Unit.HEAD, "heads": 3}, False, id="by the head"),
        pytest.param({"code": "7K3Q9FN"}, False, id="as pictured"),
        pytest.param({"fresh": True}, False, id="a fresh cut"),
    ],
)
def test_like_stands_with_like(other: dict[str, Any], together: bool) -> None:
    lines = sheet_lines([one(), one(frags=(2,), **other)])
    assert (len(lines) == 1) is together
    assert sum(line.pieces for line in lines) == 1 + other.get("pieces", 1)
    assert sorted(frag for line in lines for frag in line.frags) == [1, 2]


def test_heads_part_lines_and_make_the_price_of_a_piece() -> None:
    lines = sheet_lines(
        [one(unit=Unit.HEAD, heads=heads, price=1_800, frags=(heads,)) for heads in (3, 2, 3)]
    )
    assert [(line.heads, line.pieces, line.piece_price) for line in lines] == [
        (2, 1, 3_600),
        (3, 2, 5_400),
    ]


def test_lines_stand_by_group_variety_and_size_and_the_pictured_last() -> None:
    lines = sheet_lines(
        [
            one(variety=3, name="Signal Box", group="zoanthid"),
            one(code="7K3Q9FN", size="S"),
            one(size="mini"),
            one(size="S"),
            one(variety=2, name="anchor Chain"),
            one(size="L"),
        ]
    )
    assert [(line.name, line.size, line.code) for line in lines] == [
        ("anchor Chain", "M", ""),
        ("Copper Weir", "S", ""),
        ("Copper Weir", "L", ""),
        ("Copper Weir", "mini", ""),
        ("Copper Weir", "S", "7K3Q9FN"),
        ("Signal Box", "M", ""),
    ]
    first, second = shelves(lines)
    assert (first.title, second.title) == ("Small-polyp stony (SPS)", "Zoanthid")
    assert [len(offer) for offer in first.varieties] == [1, 3]
    assert [line.code for line in first.pictured] == ["7K3Q9FN"]


FRAGS = st.lists(
    st.builds(
        one,
        variety=st.integers(1, 3),
        group=st.sampled_from(GROUPS),
        size=st.sampled_from(SIZES),
        pieces=st.integers(1, 60),
        price=st.sampled_from([500, 900]),
        code=st.sampled_from(["", "", "7K3Q9FN", "ABC"]),
    ),
    max_size=40,
)


@given(FRAGS, st.randoms())
def test_no_piece_is_lost_and_the_order_of_frags_does_not_matter(
    frags: list[SheetLine], chance: Any
) -> None:
    named = [one(**{**fields_of(frag), "frags": (place,)}) for place, frag in enumerate(frags)]
    lines = sheet_lines(named)
    assert sum(line.pieces for line in lines) == sum(frag.pieces for frag in frags)
    assert sorted(frag for line in lines for frag in line.frags) == list(range(len(frags)))
    on_shelves = [
        line
        for shelf in shelves(lines)
        for line in (*(row for offer in shelf.varieties for row in offer), *shelf.pictured)
    ]
    assert len(on_shelves) == len(lines)
    chance.shuffle(named)
    again = [(line.name, line.size, line.pieces, line.code) for line in sheet_lines(named)]
    assert again == [(line.name, line.size, line.pieces, line.code) for line in lines]


def fields_of(line: SheetLine) -> dict[str, Any]:
    """Return a line's fields; one variety has one group, as in the tables."""
    return {
        "variety": line.variety,
        "group": GROUPS[line.variety],
        "size": line.size,
        "pieces": line.pieces,
        "price": line.price,
        "code": line.code,
    }


def test_what_lacks_the_same_price_is_named_once() -> None:
    why = "There is no retail price."
    found = missing_prices(
        [
            Missing("Night Ferry", "L", 1, why),
            Missing("Copper Weir", "M", 2, why),
            Missing("Night Ferry", "S", 4, why),
            Missing("Night Ferry", "L", 30, why),
        ]
    )
    assert [(missing.name, missing.size, missing.pieces) for missing in found] == [
        ("Copper Weir", "M", 2),
        ("Night Ferry", "S", 4),
        ("Night Ferry", "L", 31),
    ]


def test_a_sheet_is_good_for_a_week() -> None:
    assert good_until(date(2026, 12, 29)) == date(2027, 1, 5)


def test_a_line_of_the_document() -> None:
    line = one(code="7K3Q9FN", cautions=("cites",))
    assert line_document(line) == {
        "variety": "Copper Weir",
        "latin": "Montipora sp.",
        "group": "SPS",
        "size": "M",
        "heads": None,
        "code": "7K3Q9FN",
        "pieces": 1,
        "unit": "piece",
        "price": 2_500,
        "cautions": ["cites"],
    }
    assert line_document(one())["code"] is None


def ems(text: str, weight: int) -> float:
    """Return a width as if every letter were half an em wide."""
    return len(text) / 2


@pytest.mark.parametrize(
    ("overrides", "name", "facts", "high"),
    [
        # 58 mm hold 29 letters of half an em at 11 points, and 38 at 8.5.
        ({}, "Copper Weir", "Montipora sp.", 47 + 39),
        (
            {"name": "Copper Weir of the Northern Quay"},
            "Copper Weir of the Northern\nQuay",
            ...,
            133,
        ),
        ({"cautions": ("cites",)}, ..., "Montipora sp. · CITES Appendix II", 86),
        (
            {"latin": "Montipora undulata-like", "cautions": ("cites",)},
            ...,
            "Montipora undulata-like\nCITES Appendix II",
            47 + 2 * 39,
        ),
    ],
    ids=["short", "long name", "law", "law on a second line"],
)
def test_words_are_broken_where_they_fit_and_their_height_is_known(
    overrides: dict[str, Any], name: object, facts: object, high: int
) -> None:
    words = words_of(one(**overrides), measure=ems)
    assert name in (..., words.name)
    assert facts in (..., words.facts)
    assert words.high == high


def test_a_danger_stands_under_the_words() -> None:
    words = words_of(one(cautions=("palytoxin",)), measure=ems)
    assert words.dangers == "May carry palytoxin: gloves, eye protection"
    assert words.high == 47 + 39 + 6 + 35


@pytest.mark.parametrize(
    ("high", "lines", "titled", "row"),
    [(86, 1, False, 210), (86, 4, False, 224), (230, 1, False, 230), (86, 1, True, 330)],
    ids=["picture", "lines", "words", "title"],
)
def test_a_row_is_as_high_as_its_highest_part(
    high: int, lines: int, titled: bool, row: int
) -> None:
    assert Words("", "", "", high).row_high(lines, titled=titled) == row


def test_a_fresh_cut_says_so_beside_its_size() -> None:
    plain, fresh = sheet_lines([one(frags=(1,), fresh=True), one(frags=(2,))])
    assert (plain.size_name, fresh.size_name) == ("M", "M, fresh cut")
    assert one(size="", fresh=True).size_name == "fresh cut"
