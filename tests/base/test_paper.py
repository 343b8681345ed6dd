"""Papers: the same bytes, a house's own files only, accessible, and loud when something fails."""

import io
import os
import subprocess
import sys
import threading
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings, settings
from PIL import Image
from pypdf import PdfReader
from weasyprint import HTML

from fraginv.base import paper
from fraginv.base.models import Organisation
from fraginv.base.paper import NOTES, PaperError, lean_html, paper_width, render_pdf, write_pdf
from fraginv.base.symbols import make_symbol
from tests.base.papers import MM_PER_POINT, images_in, page_sizes_mm, symbols_of, texts_of, words_of

HOUSE = Organisation(
    name="Tidewater Hall Aquarium", address="1 Quay\nSaltmouth", email="desk@tide.test"
)
PAGE = """{% extends "base/layout_paper.html" %}
{% block title %}Receipt 7{% endblock title %}
{% block heading %}Receipt 7{% endblock heading %}
{% block main %}<p>{{ words }}</p>{{ more|safe }}{% endblock main %}"""


@pytest.fixture
def page(tmp_path: Path, settings: LazySettings) -> str:
    """A paper's template, found beside the house's own."""
    (tmp_path / "try.html").write_text(PAGE, encoding="utf-8")
    engine = dict(settings.TEMPLATES[0])
    engine["DIRS"] = [settings.BASE_DIR / "templates", tmp_path]
    settings.TEMPLATES = [engine]
    return "try.html"


def made(page: str, *, words: str = "", more: str = "", **options: object) -> bytes:
    """Render the template of these tests."""
    context = {"organisation": HOUSE, "words": words, "more": more}
    return render_pdf(page, context, **options)  # type: ignore[arg-type]


def test_the_text_can_be_read_back(page: str) -> None:
    (text,) = texts_of(made(page, words="Ember Tide & <b> Œuvre, Ω Жук"))
    for wanted in ("Receipt 7", "Tidewater Hall Aquarium", "Saltmouth", "Page 1 of 1"):
        assert wanted in text
    assert "Ember Tide & <b> Œuvre, Ω Жук" in text


def test_the_same_input_gives_the_same_bytes(page: str) -> None:
    assert made(page, words="once") == made(page, words="once")
    assert made(page, words="once") != made(page, words="twice")


def test_other_processes_and_homes_give_the_same_bytes(tmp_path: Path) -> None:
    program = (
        "import django, hashlib; django.setup()\n"
        "from fraginv.base.models import Organisation\n"
        "from fraginv.base.paper import render_pdf\n"
        "house = Organisation(name='Tidewater')\n"
        "pdf = render_pdf('base/layout_paper.html', {'organisation': house})\n"
        "print(hashlib.sha256(pdf).hexdigest())"
    )
    answers = set()
    for seed in ("1", "2"):
        environment = os.environ | {
            "FRAGINV_HOME": str(tmp_path / seed),
            "DJANGO_SETTINGS_MODULE": "fraginv.settings",
            "PYTHONHASHSEED": seed,
        }
        done = subprocess.run(
            [sys.executable, "-c", program],
            cwd=settings.BASE_DIR,
            env=environment,
            capture_output=True,
            text=True,
            check=True,
            timeout=120,
        )
        assert done.stderr == ""
        answers.add(done.stdout)
    assert len(answers) == 1


@pytest.mark.parametrize(
    ("paper_name", "size"), [("letter", (215.9, 279.4)), ("a4", (210.0, 297.0))]
)
def test_the_page_has_the_size_of_the_organisations_paper(
    page: str, paper_name: str, size: tuple[float, float]
) -> None:
    # ISO 216 for A4, ANSI/ASME Y14.1 for Letter (from memory).
    house = Organisation(name="Tidewater", paper=paper_name)
    assert page_sizes_mm(render_pdf(page, {"organisation": house})) == [size]


def test_a_paper_is_tagged_and_declared_accessible(page: str) -> None:
    # ISO 14289-1 (PDF/UA-1): tagged, with a language, a title, and the identifier 1.
    catalog = catalog_of(made(page))
    assert catalog["/MarkInfo"]["/Marked"].value
    assert "/StructTreeRoot" in catalog
    assert catalog["/Lang"] == "en"
    assert b'pdfuaid:part="1"' in catalog["/Metadata"].get_data()
    assert "/StructTreeRoot" not in catalog_of(made(page, tagged=False))


def catalog_of(pdf: bytes) -> Any:
    """Return the root of a PDF."""
    return PdfReader(io.BytesIO(pdf)).trailer["/Root"]


def test_the_font_is_the_cut_one(page: str) -> None:
    sheet: Any = PdfReader(io.BytesIO(made(page, words="Latin"))).pages[0]
    fonts = sheet["/Resources"]["/Font"].values()
    names = {font.get_object()["/BaseFont"].split("+")[1] for font in fonts}
    assert names == {"Paper", "Paper-Semi-Bold"}


def test_a_finisher_draws_in_millimetres_under_the_text(page: str) -> None:
    symbol = make_symbol("HTTPS://REEF.TEST/T/7K3Q9FN")

    pdf = made(page, finisher=lambda number: symbol.drawing(150, 200, 0.6) if number == 0 else "")

    assert images_in(pdf) == 0
    ((found,),) = symbols_of(pdf)
    dots = 300 / 25.4
    side = 0.6 * symbol.modules
    expected = [(150, 200), (150 + side, 200), (150 + side, 200 + side), (150, 200 + side)]
    for corner, (x, y) in zip(found.corners, expected, strict=True):
        assert corner == pytest.approx((x * dots - 0.5, y * dots - 0.5), abs=1.5)


def test_a_given_picture_is_shown(page: str) -> None:
    pdf = made(page, more='<img src="picture:red.png">', pictures={"red.png": red_square()})
    assert images_in(pdf) == 1


def test_a_picture_of_the_house_is_shown(page: str, settings: LazySettings) -> None:
    media = settings.FRAGINV_HOME / "media"
    media.mkdir(parents=True, exist_ok=True)
    file = media / "red square.png"
    file.write_bytes(red_square())
    assert images_in(made(page, more=f'<img src="{file.as_uri()}">')) == 1
    pdf = made(page, more='<img src="picture:a">', pictures={"a": file})
    assert images_in(pdf) == 1


@pytest.mark.parametrize(
    "source",
    [
        "http://127.0.0.1:9/a.png",
        "https://127.0.0.1:9/a.png",
        "ftp://127.0.0.1/a.png",
        "file:///etc/hostname",
        "picture:unknown",
        "data:image/png;base64,AAAA",
    ],
)
def test_nothing_else_is_fetched(page: str, source: str) -> None:
    with pytest.raises(PaperError, match="is not a file that papers may show"):
        made(page, more=f'<img src="{source}">')


def test_the_signing_key_is_out_of_reach(page: str, settings: LazySettings) -> None:
    key = settings.FRAGINV_HOME / "signing.key"
    assert key.exists()
    for address in (key.as_uri(), f"{(settings.FRAGINV_HOME / 'media').as_uri()}/../signing.key"):
        with pytest.raises(PaperError, match="is not a file that papers may show"):
            made(page, more=f'<img src="{address}">')


def test_a_picture_that_is_none_ends_the_paper(page: str) -> None:
    with pytest.raises(PaperError, match="picture:broken cannot be read as a picture"):
        made(page, more='<img src="picture:broken">', pictures={"broken": b"no picture"})


def test_a_picture_that_is_gone_ends_the_paper(page: str, tmp_path: Path) -> None:
    with pytest.raises(PaperError, match="cannot be read"):
        made(page, more='<img src="picture:gone">', pictures={"gone": tmp_path / "gone.jpg"})


def test_papers_can_be_made_in_several_threads(page: str) -> None:
    made_here = made(page, words="threads")
    results: list[bytes] = []
    threads = [
        threading.Thread(target=lambda: results.append(made(page, words="threads")))
        for _ in range(3)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert results == [made_here] * 3


def test_without_pango_papers_say_what_to_do(page: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    paper.import_problem.cache_clear()
    with pytest.raises(PaperError, match=r"\.ci/setup"):
        made(page)
    monkeypatch.undo()
    paper.import_problem.cache_clear()


def test_width_and_place_agree_with_the_paper(page: str) -> None:
    # Two words in one line: the second begins where the first one's width says.
    pdf = made(page, more='<p style="font-size:10pt"><b>WWAA</b><i>x</i></p>')
    begins = {words.text: words.x_mm for words in words_of(pdf)}
    width = begins["x"] - begins["WWAA"]
    expected = paper_width("WWAA", weight=600) * 10 * MM_PER_POINT
    assert width == pytest.approx(expected, rel=0.05)


def red_square() -> bytes:
    """Return a small picture as PNG."""
    buffer = io.BytesIO()
    Image.new("RGB", (8, 8), "red").save(buffer, "PNG")
    return buffer.getvalue()


def test_what_is_left_out_of_the_librarys_style_changes_no_paper() -> None:
    """The rules of notes are in the library's style, and no paper looks otherwise without them."""
    own = files("weasyprint").joinpath("css", "html5_ua.css").read_text()
    assert len(NOTES.findall(own)) == 5
    assert "::marker" in NOTES.sub("", own)
    page = """<html lang="en"><title>A list</title><h1>Wet <q>hands</q></h1><ul><li>one</ul>
        <ol><li>first<li>second</ol><table><tr><th>Size<td>12</table><p>Blue<br>light</p>"""
    written = [
        write_pdf(reader(string=page), finisher=None, tagged=True) for reader in (HTML, lean_html())
    ]
    assert written[0] == written[1]
