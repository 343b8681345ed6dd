"""The measuring card as printed: everything stands where photographs are looked for it."""

import io
from typing import Any

import pytest
from pypdf import PdfReader

from fraginv.base.errors import InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.rules.card import (
    BAR,
    CARD_HEIGHT_MM,
    CARD_WIDTH_MM,
    CELL_MM,
    LABEL_PLACE,
    MARKERS,
    PAPERS,
    QUIET_MM,
    WINDOW,
    Box,
)
from fraginv.labels.actions.stocks import add_printer, measure_printer
from fraginv.labels.models import Printer
from fraginv.labels.queries.card import card_pdf
from fraginv.labels.queries.stocks import get_printer
from fraginv.labels.rules.card_sheet import card_paper, ink_of, paper_for
from fraginv.labels.rules.coins import COINS
from fraginv.labels.rules.printers import Check, Measures
from tests.base.papers import images_in, page_sizes_mm, texts_of, words_of
from tests.labels.sheets_seen import Seen, edges_mm, seen_page

BOTH = pytest.mark.parametrize("paper", list(PAPERS))
DPI = pytest.mark.parametrize("dpi", [300, 600])
# Common practice, no source: no office printer leaves more than 8 mm white at an edge.
PRINTER_EDGE_MM = 7.9
SMALL = Measures(across_tenths=980, down_tenths=1008, left_tenths=205, top_tenths=190)


def on_page(box: Box, paper: str) -> Box:
    """Return where on its sheet a part of the card stands."""
    sheet = PAPERS[paper]
    return Box(sheet.left_mm + box.left_mm, sheet.top_mm + box.top_mm, box.width_mm, box.height_mm)


def straying_printer(by: Person) -> Printer:
    """Write down a printer that prints everything 2 % too narrow and 0.8 % too high."""
    printer = add_printer("Office", by=by)
    measure_printer(printer.pk, measures=SMALL, check=Check(), by=by)
    return get_printer(printer.pk)


def marker_edges(seen: Seen, paper: str) -> list[tuple[float, ...]]:
    """Return the edges of all markers in mm of the card."""
    sheet = PAPERS[paper]
    shift = (sheet.left_mm, sheet.top_mm) * 2
    return [
        tuple(
            edge - by
            for edge, by in zip(edges_mm(seen, on_page(marker.place, paper)), shift, strict=True)
        )
        for marker in MARKERS
    ]


@BOTH
@DPI
def test_markers_stand_where_the_rule_says(
    organisation: Organisation, paper: str, dpi: int
) -> None:
    seen = seen_page(card_pdf(paper), dpi=dpi)
    for marker, edges in zip(MARKERS, marker_edges(seen, paper), strict=True):
        place = marker.place
        wanted = (place.left_mm, place.top_mm, place.right_mm, place.bottom_mm)
        assert edges == pytest.approx(wanted, abs=0.02)


@BOTH
@DPI
def test_markers_carry_their_bits_and_keep_their_quiet(
    organisation: Organisation, paper: str, dpi: int
) -> None:
    seen = seen_page(card_pdf(paper), dpi=dpi)
    for marker in MARKERS:
        place = on_page(marker.place, paper)
        for row, cells in enumerate(marker.cells):
            for column, dark in enumerate(cells):
                middle = Box(
                    place.left_mm + (column + 0.1) * CELL_MM,
                    place.top_mm + (row + 0.1) * CELL_MM,
                    CELL_MM * 0.8,
                    CELL_MM * 0.8,
                )
                part = seen.part(middle)
                assert part.min() > 0.99 if dark else part.max() < 0.01
        for quiet in around(place):
            assert seen.part(quiet).max() < 0.01


def around(place: Box) -> list[Box]:
    """Return the white margin of a marker as four strips, a trace away from it."""
    far, trace = QUIET_MM - 0.2, 0.1
    left, top = place.left_mm - QUIET_MM, place.top_mm - QUIET_MM
    return [
        Box(left, top, place.width_mm + 2 * QUIET_MM, far),
        Box(left, place.bottom_mm + trace, place.width_mm + 2 * QUIET_MM, far),
        Box(left, top, far, place.height_mm + 2 * QUIET_MM),
        Box(place.right_mm + trace, top, far, place.height_mm + 2 * QUIET_MM),
    ]


@BOTH
def test_cells_that_touch_leave_no_seam(organisation: Organisation, paper: str) -> None:
    seen = seen_page(card_pdf(paper), dpi=300)
    for marker in MARKERS:
        place = on_page(marker.place, paper)
        border = Box(place.left_mm + 0.2, place.top_mm + 0.2, CELL_MM - 0.4, place.height_mm - 0.4)
        assert seen.part(border).min() > 0.99


@BOTH
@DPI
def test_the_bar_is_100_mm(organisation: Organisation, paper: str, dpi: int) -> None:
    seen = seen_page(card_pdf(paper), dpi=dpi)
    bar = on_page(BAR, paper)
    # From outer edge to outer edge, below the bar where nothing but its strokes is.
    left = seen.ink_from(Box(bar.left_mm - 2, bar.bottom_mm + 0.3, 2.15, 0.5))
    behind = Box(seen.width_mm - bar.right_mm - 2, bar.bottom_mm + 0.3, 2.15, 0.5)
    right = seen.width_mm - seen.mirrored().ink_from(behind)
    assert right - left == pytest.approx(100, abs=0.02)
    assert left == pytest.approx(bar.left_mm, abs=0.02)
    tens = [seen.part(Box(bar.left_mm + at + 1, bar.top_mm + 1, 8, 1)) for at in range(0, 100, 10)]
    assert [round(float(ten.mean())) for ten in tens] == [1, 0] * 5


@BOTH
@pytest.mark.parametrize("place", [WINDOW, LABEL_PLACE])
def test_window_and_place_for_the_label_are_free_of_ink(
    organisation: Organisation, paper: str, place: Box
) -> None:
    seen = seen_page(card_pdf(paper), dpi=300)
    inner = on_page(place, paper)
    assert seen.part(inner).max() < 0.01
    # Corners show where it is.
    wider = Box(inner.left_mm - 0.5, inner.top_mm - 0.5, inner.width_mm + 1, inner.height_mm + 1)
    assert seen.part(wider).max() > 0.9


@BOTH
def test_nothing_is_printed_where_printers_do_not(organisation: Organisation, paper: str) -> None:
    seen = seen_page(card_pdf(paper), dpi=150)
    sheet, edge = PAPERS[paper], PRINTER_EDGE_MM
    for strip in (
        Box(0, 0, sheet.width_mm, edge),
        Box(0, sheet.height_mm - edge, sheet.width_mm, edge),
        Box(0, 0, edge, sheet.height_mm),
        Box(sheet.width_mm - edge, 0, edge, sheet.height_mm),
    ):
        assert seen.part(strip).max() < 0.01


@BOTH
def test_out_of_a_printer_that_was_measured_it_comes_true(grower: Person, paper: str) -> None:
    # Such a printer puts a place p at 0.98 p across and 1.008 p down: so do the edges.
    sent = seen_page(card_pdf(paper, printer=straying_printer(grower)), dpi=600)
    printed = Seen(sent.dark, sent.across / 0.98, sent.down / 1.008)
    sheet = PAPERS[paper]
    middle_x, middle_y = sheet.left_mm + CARD_WIDTH_MM / 2, sheet.top_mm + CARD_HEIGHT_MM / 2
    for marker in MARKERS:
        place = on_page(marker.place, paper)
        moved = Box(
            place.left_mm - 0.02 * middle_x,
            place.top_mm + 0.008 * middle_y,
            place.width_mm,
            place.height_mm,
        )
        wanted = (moved.left_mm, moved.top_mm, moved.right_mm, moved.bottom_mm)
        assert edges_mm(printed, moved) == pytest.approx(wanted, abs=0.02)


@BOTH
def test_words_move_with_what_they_stand_beside(grower: Person, paper: str) -> None:
    plain = {words.text: words for words in words_of(card_pdf(paper))}
    moved = {
        words.text: words for words in words_of(card_pdf(paper, printer=straying_printer(grower)))
    }
    middle = PAPERS[paper].left_mm + CARD_WIDTH_MM / 2
    for text in ("Hold still.", "100 mm", "printed on"):
        wanted = middle + (plain[text].x_mm - middle) / 0.98
        assert moved[text].x_mm == pytest.approx(wanted, abs=0.05)
    assert "For Office alone" in moved


@BOTH
def test_it_says_what_to_do_with_it(organisation: Organisation, paper: str) -> None:
    pdf = card_pdf(paper)
    (text,) = texts_of(pdf)
    said = " ".join(text.split())
    for words in (
        *("Measuring card", organisation.name, "Stand the plug in the window"),
        *("The whole card in the picture", "25 to 40 cm away", "No glare", "no “fit to page”"),
        *("Measure the bar once", "A coin of known size", "laminate it", "waterproof sheet"),
        "counts from the card’s face up to the widest part",
    ):
        assert words in said
    assert ("Cut it out" in said) == (paper == "letter")
    assert images_in(pdf) == 0
    sheet = PAPERS[paper]
    assert page_sizes_mm(pdf) == [(round(sheet.width_mm, 1), round(sheet.height_mm, 1))]


@BOTH
def test_it_is_tagged_and_its_ink_is_no_text(organisation: Organisation, paper: str) -> None:
    # ISO 14289-1 (PDF/UA-1): tagged, with language and title; what is drawn is an artifact.
    reader = PdfReader(io.BytesIO(card_pdf(paper)))
    catalog: Any = reader.trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"].value
    assert "/StructTreeRoot" in catalog
    assert catalog["/Lang"] == "en"
    assert b'pdfuaid:part="1"' in catalog["/Metadata"].get_data()
    page: Any = reader.pages[0]
    drawn = page["/Contents"][0].get_object().get_data()
    assert b"/Artifact BMC" in drawn
    assert b"EMC" in drawn


def test_the_same_card_gives_the_same_bytes(organisation: Organisation) -> None:
    assert card_pdf("a5") == card_pdf("a5")


def test_a_long_name_leaves_everything_in_its_place(organisation: Organisation) -> None:
    organisation.name = "Saltmouth and Hinterland Society for the Care of Living Reefs and Shores"
    organisation.save(update_fields=["name"])
    pdf = card_pdf("a5")
    assert len(page_sizes_mm(pdf)) == 1
    places = {words.text: words.y_mm for words in words_of(pdf)}
    assert places["printed on"] < 210 - PRINTER_EDGE_MM


@pytest.mark.parametrize("paper", ["", "a4", "legal", "A5.pdf"])
def test_other_paper_is_refused_with_what_there_is(organisation: Organisation, paper: str) -> None:
    with pytest.raises(InputError, match="printed on a5 or letter, not on"):
        card_pdf(paper)


def test_a_printer_that_nobody_measured_is_refused(grower: Person) -> None:
    printer = add_printer("Attic", by=grower)
    with pytest.raises(InputError, match="Nobody has measured Attic yet"):
        card_pdf("a5", printer=printer)


@pytest.mark.parametrize(("house", "paper"), [("a4", "a5"), ("letter", "letter")])
def test_a_house_is_proposed_what_goes_with_its_paper(house: str, paper: str) -> None:
    assert card_paper(paper_for(house)).name == paper


def test_ink_lies_within_what_is_cut_out() -> None:
    for box in ink_of(PAPERS["a5"]):
        assert box.left_mm >= 5
        assert box.right_mm <= CARD_WIDTH_MM - 5
        assert box.bottom_mm <= CARD_HEIGHT_MM


def test_coins_have_the_area_of_their_circle() -> None:
    # By hand: π / 4 × 24.26² = 462.24; π / 4 × 23.25² = 424.56.
    assert [round(coin.area_mm2, 2) for coin in COINS] == [462.24, 424.56]
    assert COINS[0].words == "1.75 mm high, 24.26 mm wide, 462 mm²"
