"""The sheet on paper, read back with libraries that did not write it."""

from collections.abc import Iterator
from io import BytesIO

import pypdfium2
import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from fraginv.base import clock
from fraginv.base.models import Organisation, StoredFile
from fraginv.base.queries.files import storage_for
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.pictures import rendition_name
from fraginv.sheets.queries.papers import sheet_pdf
from fraginv.stock.models import Frag
from tests.base.papers import page_sizes_mm, texts_of, words_of
from tests.conftest import People
from tests.factories import make_variety
from tests.sheets.rows import NOON, picture, price, stand
from tests.trade.rows import Shop, open_shop

LOWEST_MM = 279.4 - 19  # Letter, less the margin at the foot
MARGIN_MM = 18  # at the sides

LETTER_PT = (612, 792)
POINT_MM = 25.4 / 72
CLIPPED_PT = 4
HAIR_PT = 0.6
SAME_LINE_MM = 1.5


def pictures_in(data: bytes) -> list[tuple[float, float, float, float]]:
    """Return where each picture is drawn: left, bottom, right and top in points."""
    return drawn(data, pypdfium2.raw.FPDF_PAGEOBJ_IMAGE)


def drawn(data: bytes, kind: int) -> list[tuple[float, float, float, float]]:
    """Return where each object of a kind is drawn, as ``pictures_in``."""
    with pypdfium2.PdfDocument(data) as document:
        return [
            thing.get_bounds() for page in document for thing in page.get_objects(filter=[kind])
        ]


def drawn_in(data: bytes) -> int:
    """Count the pictures that are drawn, each time anew."""
    return len(pictures_in(data))


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with clock.at(NOON):
        yield open_shop(people)


def fill(shop: Shop, count: int, *, genus: str = "Acropora", pictured: int = 0) -> list[Frag]:
    """Let varieties in three sizes stand for sale, some with a picture."""
    frags = []
    for place in range(count):
        variety = make_variety(shop.manager, name=f"Weir {genus} {place:02d}", genus=genus)
        frag, *_ = stand(shop, variety, sizes="SML")
        price(shop, 2_500 + place, variety=variety)
        if place < pictured:
            picture(shop, frag, shade=1 + place)
        frags.append(frag)
    return frags


def test_the_sheet_says_what_how_many_and_for_how_much(shop: Shop) -> None:
    fill(shop, 1, genus="Zoanthus")
    customer = shop.customer("Saltmarsh Corals")
    price(shop, 1_600, kind=shop.shop, group="zoanthid")
    (text,) = texts_of(sheet_pdf(customer))
    for words in (
        "Available corals",
        "Tidewater Hall Aquarium",
        "Saltmarsh Corals",
        "Shop, without sales tax",
        "Nov 25, 2026",
        "Dec 2, 2026",
        "3 pieces",
        "Weir Zoanthus 00",
        "Zoanthus sp.",
        "1 at hand",
        "$16.00 a piece",
        "May carry palytoxin: gloves, eye protection",
        "Never pour hot water on it",
        "Page 1 of 1",
    ):
        assert words in text
    assert "$25.00" not in text
    assert "CITES" not in text


def test_what_was_sold_is_gone_from_it(shop: Shop) -> None:
    gone, stays = fill(shop, 2)
    shop.sell(gone, 1)
    text = "".join(texts_of(sheet_pdf(shop.retail)))
    assert "8 pieces" not in text
    assert "5 pieces" in text
    for frag in Frag.objects.filter(variety=gone.variety, pieces__gt=0):
        shop.sell(frag, 1)
    text = "".join(texts_of(sheet_pdf(shop.retail)))
    assert gone.variety.name not in text
    assert stays.variety.name in text


def test_what_has_no_price_is_for_staff_alone(shop: Shop) -> None:
    fill(shop, 1)
    stand(shop, make_variety(shop.manager, name="Night Ferry"))
    text = "".join(texts_of(sheet_pdf(shop.retail)))
    assert "Night Ferry" not in text


def test_an_empty_sheet_says_so(shop: Shop) -> None:
    assert "Nothing is ready for sale today" in "".join(texts_of(sheet_pdf(shop.retail)))


def test_every_picture_is_in_the_pdf_and_every_other_place_is_empty(shop: Shop) -> None:
    frags = fill(shop, 12, pictured=7)
    for number, frag in enumerate(frags[:3]):
        price(shop, 9_900 + number, frag=frag)
    data = sheet_pdf(shop.retail)
    # Three of the seven are of pieces sold as pictured; their variety shows them too.
    assert drawn_in(data) == 7 + 3
    assert "".join(texts_of(data)).count("No picture yet") == 5
    assert show_code(frags[0].code_id) in "".join(texts_of(data))


def test_a_picture_lost_from_the_storage_leaves_its_place_and_says_so(shop: Shop) -> None:
    fill(shop, 2, pictured=2)
    file = StoredFile.objects.order_by("pk")[0]
    storage_for(private=False).delete(rendition_name(file.sha256, size=240))
    data = sheet_pdf(shop.retail)
    assert drawn_in(data) == 1
    assert "".join(texts_of(data)).count("Picture is missing") == 1


def test_no_variety_is_cut_by_the_end_of_a_page(shop: Shop) -> None:
    fill(shop, 14, pictured=14)
    fill(shop, 9, genus="Zoanthus")
    data = sheet_pdf(shop.retail)
    pages = texts_of(data)
    assert len(pages) > 2
    for number, page in enumerate(pages):
        assert page.count("Weir ") * 3 == page.count(" at hand")
        # The foot of the page alone stands lower; nothing hangs over the edge.
        low = [words for words in words_of(data, number) if words.y_mm > LOWEST_MM]
        assert {words.text.split()[0] for words in low} <= {"Available", "corals", "Page"}
    for group in ("Small-polyp stony (SPS)", "Zoanthid"):
        (below,) = (
            [words.text for words in found if words.y_mm > heading.y_mm]
            for number in range(len(pages))
            for found in [words_of(data, number)]
            for heading in found
            if heading.text == group
        )
        assert any(text.startswith("Weir ") for text in below), "a heading stands alone"


def test_each_variety_is_written_before_its_prices(shop: Shop) -> None:
    """Whoever copies the text out gets each variety together with what belongs to it."""
    fill(shop, 3, pictured=2)
    (text,) = texts_of(sheet_pdf(shop.retail))
    places = [text.index(f"Weir Acropora {number:02d}") for number in range(3)]
    prices = [text.index(f"$25.{number:02d} a piece") for number in range(3)]
    assert sorted([*places, *prices]) == [
        place for pair in zip(places, prices, strict=True) for place in pair
    ]


def test_no_words_and_no_picture_lie_on_each_other(shop: Shop) -> None:
    """Words and prices are drawn back up beside the picture, by heights known beforehand."""
    long = "Weir Lantern of the Northern Quay and its Tidal Meadow, second selection"
    for start, genus in enumerate(("Acropora", "Zoanthus", "Euphyllia")):
        variety = make_variety(shop.manager, name=long[start * 5 :], genus=genus)
        frag, *_ = stand(shop, variety, sizes="SML"[: start + 1])
        price(shop, 131_800, variety=variety)
        picture(shop, frag, shade=1 + start)
    data = sheet_pdf(shop.retail)
    boxes = [*pictures_in(data), *drawn(data, pypdfium2.raw.FPDF_PAGEOBJ_TEXT)]
    assert len(boxes) > 30
    for place, (left, bottom, right, top) in enumerate(boxes):
        for other in boxes[:place]:
            beside = other[2] <= left + HAIR_PT or right <= other[0] + HAIR_PT
            assert beside or other[3] <= bottom + HAIR_PT or top <= other[1] + HAIR_PT


def test_what_is_said_of_a_variety_ends_before_its_prices(shop: Shop) -> None:
    """What a line takes is measured beforehand, at the size in which it is printed."""
    fill(shop, 2, genus="Zoanthus", pictured=2)
    data = sheet_pdf(shop.retail)
    assert "May carry palytoxin" in texts_of(data)[0]
    left, prices = (MARGIN_MM + 32) / POINT_MM, (MARGIN_MM + 92) / POINT_MM
    highest = max(top for *_, top in pictures_in(data))
    ends = [
        right
        for start, _, right, top in drawn(data, pypdfium2.raw.FPDF_PAGEOBJ_TEXT)
        if left - HAIR_PT < start < prices - CLIPPED_PT and top <= highest
    ]
    assert len(ends) >= 6
    assert max(ends) < (MARGIN_MM + 32 + 58) / POINT_MM + HAIR_PT


def test_the_first_price_stands_beside_the_name(shop: Shop) -> None:
    fill(shop, 2)
    fill(shop, 2, genus="Zoanthus")
    found = words_of(sheet_pdf(shop.retail))
    names = [words.y_mm for words in found if words.text.startswith("Weir ")]
    prices = [words.y_mm for words in found if words.text.endswith("a piece")]
    assert (len(names), len(prices)) == (4, 12)
    for name, first in zip(names, prices[::3], strict=True):
        assert abs(name - first) < SAME_LINE_MM


def test_pictures_stay_within_the_page(shop: Shop) -> None:
    fill(shop, 14, pictured=14)
    shown = pictures_in(sheet_pdf(shop.retail))
    assert len(shown) == 14
    width, height = LETTER_PT
    for left, bottom, right, top in shown:
        # A picture that is wider than its frame hangs over it, and is clipped there.
        assert 18 / POINT_MM - CLIPPED_PT < left < right < width
        assert 19 / POINT_MM <= bottom < top < height


def test_the_paper_is_the_organisations(shop: Shop) -> None:
    fill(shop, 1)
    assert page_sizes_mm(sheet_pdf(shop.retail)) == [(215.9, 279.4)]
    Organisation.objects.update(paper="a4")
    assert page_sizes_mm(sheet_pdf(shop.retail)) == [(210.0, 297.0)]


def test_the_same_sheet_is_the_same_bytes(shop: Shop) -> None:
    fill(shop, 3, pictured=2)
    first = sheet_pdf(shop.retail)
    assert sheet_pdf(shop.retail) == first
    price(shop, 1, kind=shop.retail, variety=make_variety(shop.manager))
    assert sheet_pdf(shop.retail) == first


def test_the_pdf_is_tagged_and_its_pictures_have_words(shop: Shop) -> None:
    """PDF/UA-1 (ISO 14289-1): tagged, with a title, a language, and words for each figure."""
    fill(shop, 3, pictured=2)
    reader = PdfReader(BytesIO(sheet_pdf(shop.retail)))
    root = reader.trailer["/Root"].get_object()
    assert isinstance(root, DictionaryObject)
    assert str(root["/Lang"]) == "en"
    mark = root["/MarkInfo"].get_object()
    assert isinstance(mark, DictionaryObject)
    assert str(mark["/Marked"]) == "True"
    assert reader.metadata is not None
    assert reader.metadata.title == "Available corals, Nov 25, 2026"
    tags = list(tagged(root["/StructTreeRoot"]))
    figures = [str(element["/Alt"]) for element in tags if element.get("/S") == "/Figure"]
    assert sorted(figures) == ["Weir Acropora 00", "Weir Acropora 01"]
    kinds = [str(element.get("/S")) for element in tags]
    # A heading for each variety with one line a size under it, in the order of reading.
    of_rows = [kind for kind in kinds if kind in {"/H1", "/H2", "/H3", "/Figure"}]
    assert of_rows == ["/H1", "/H2", *(["/Figure", "/H3"] * 2), "/H3"]


def tagged(element: object) -> Iterator[DictionaryObject]:
    """Yield every element of a PDF's tree of tags."""
    if isinstance(element, IndirectObject):
        element = element.get_object()
    if isinstance(element, list):
        for child in element:
            yield from tagged(child)
    elif isinstance(element, DictionaryObject) and element.get("/Type") != "/MCR":
        yield element
        yield from tagged(element.get("/K", []))
