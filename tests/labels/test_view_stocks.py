"""The pages of sheets, rolls and printers."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fraginv.base.rules.roles import Role
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import add_printer, add_stock, adjust_stock
from fraginv.labels.models import Adjustment, OwnStock, Printer
from fraginv.labels.rules.measures import roll_measures
from tests.base.papers import page_sizes_mm, texts_of
from tests.conftest import People
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
ADD = "/labels/stocks/add"
BAG = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)
SHEET = {
    **{"name": "flags-48", "kind": "sheet", "form": "flag", "width": "90", "height": "22"},
    **{"paper": "a4", "columns": "2", "rows": "12", "pitch_x": "", "pitch_y": ""},
    **{"left": "", "top": "", "page_width": "", "page_height": "", "gap": "3"},
}
ROLL = {
    **{"name": "bag-80x50", "kind": "roll", "form": "bag", "width": "80", "height": "50"},
    **{"gap": "3.5", "paper": "letter"},
}


def sent(**fields: Any) -> dict[str, Any]:
    """Return a form as a browser sends it."""
    return {"replay_key": str(uuid4())} | fields


def test_a_sheet_is_added_from_a_few_measures(client_for: ClientFor, people: People) -> None:
    answer = client_for(Role.GROWER).post(ADD, sent(**SHEET), follow=True)
    assert answer.redirect_chain == [("/labels/stocks/flags-48", 303)]
    own = OwnStock.objects.get()
    # What was left empty: labels touch, and the sheet is centred.
    assert (own.pitch_x_um, own.pitch_y_um) == (90_000, 22_000)
    assert (own.left_um, own.top_um) == (15_000, 16_500)
    assert (own.page_width_um, own.page_height_um) == (210_000, 297_000)
    text = answer.content.decode()
    assert text.count('<rect class="drawn__label"') == 24 + 1
    assert text.count('<rect class="drawn__symbol"') == 2
    assert "A4 sheet, 2 × 12 labels of 90.0 × 22.0 mm" in words_on(answer)


def test_a_roll_is_added_with_its_gap(client_for: ClientFor, people: People) -> None:
    answer = client_for(Role.SELLER).post(ADD, sent(**ROLL), follow=True)
    assert answer.status_code == 200
    own = OwnStock.objects.get()
    assert (own.is_roll, own.height_um, own.page_height_um) == (True, 50_000, 53_500)
    assert (own.page_width_um, own.by) == (80_000, people[Role.SELLER])


def test_it_is_drawn_before_it_is_kept(client_for: ClientFor, people: People) -> None:
    answer = client_for(Role.GROWER).post(ADD, sent(**SHEET, look="1"))
    assert answer.status_code == 200
    assert answer.content.decode().count('<rect class="drawn__label"') == 24 + 1
    assert "Not kept yet" in words_on(answer)
    assert 'value="22"' in answer.content.decode()
    assert not OwnStock.objects.exists()


def test_one_on_which_nothing_can_be_printed_is_drawn_with_why(
    client_for: ClientFor, people: People
) -> None:
    low = SHEET | {"height": "14"}
    answer = client_for(Role.GROWER).post(ADD, sent(**low, look="1"))
    assert "too low for the form" in words_on(answer)
    assert answer.content.decode().count('<rect class="drawn__label"') == 24
    kept = client_for(Role.GROWER).post(ADD, sent(**low))
    assert kept.status_code == 400
    assert "too low for the form" in words_on(kept)
    assert not OwnStock.objects.exists()


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"name": "?"}, "cannot be a stock's name"),
        ({"name": "a4-63.5x33.9"}, "is taken by the house"),
        ({"name": ""}, "This field is required"),
        ({"width": ""}, "This field is required"),
        ({"width": "0"}, "greater than or equal to 1"),
        ({"width": "wide"}, "Enter a number"),
        ({"width": "90.123"}, "no more than 2 decimal places"),
        ({"columns": ""}, "A sheet needs this"),
        ({"paper": "other"}, "A sheet needs this"),
        ({"columns": "3"}, "beyond the page's right edge"),
        ({"pitch_y": "21"}, "one under the other overlap"),
        ({"form": "round"}, "Select a valid choice"),
        ({"kind": "disc"}, "Select a valid choice"),
        ({"replay_key": ""}, "without its key"),
    ],
)
def test_measures_that_cannot_be_are_said_and_kept_on_the_page(
    client_for: ClientFor, people: People, fields: dict[str, str], message: str
) -> None:
    answer = client_for(Role.GROWER).post(ADD, sent(**(SHEET | fields)))
    assert answer.status_code == 400
    assert message in words_on(answer)
    assert not OwnStock.objects.exists()


def test_a_sheet_of_another_size_needs_its_measures(client_for: ClientFor, people: People) -> None:
    other = SHEET | {"paper": "other", "page_width": "200", "page_height": "280"}
    client_for(Role.GROWER).post(ADD, sent(**other))
    own = OwnStock.objects.get()
    assert (own.page_width_um, own.left_um) == (200_000, 10_000)


def test_an_own_stock_is_changed(client_for: ClientFor, people: People) -> None:
    client = client_for(Role.GROWER)
    client.post(ADD, sent(**SHEET))
    page = client.get("/labels/stocks/flags-48")
    initial = page.context["form"].initial
    assert (initial["width"], initial["paper"], initial["left"]) == ("90", "a4", "15")
    changed = {name: value for name, value in (SHEET | initial).items() if name != "name"}
    answer = client.post(
        "/labels/stocks/flags-48", sent(**(changed | {"left": "14.5", "form": "strip"}))
    )
    assert answer.status_code == 303
    own = OwnStock.objects.get()
    assert (own.left_um, own.form, own.top_um) == (14_500, "strip", 16_500)
    bad = client.post("/labels/stocks/flags-48", sent(**(changed | {"left": "40"})))
    assert bad.status_code == 400
    assert "beyond the page's right edge" in words_on(bad)


def test_an_own_stock_is_offered_no_longer_and_again(client_for: ClientFor, people: People) -> None:
    add_stock("bag-80x50", measures=BAG, form="bag", by=people[Role.GROWER])
    client = client_for(Role.GROWER)
    assert 'value="bag-80x50"' in client.get("/labels/").content.decode()
    gone = client.post("/labels/stocks/bag-80x50/withdraw", sent(), follow=True)
    assert "offered no longer" in words_on(gone)
    assert 'value="bag-80x50"' not in client.get("/labels/").content.decode()
    client.post("/labels/stocks/bag-80x50/withdraw", sent(again="1"))
    assert 'value="bag-80x50"' in client.get("/labels/").content.decode()


def test_a_stock_of_the_house_is_neither_changed_nor_withdrawn(
    client_for: ClientFor, people: People
) -> None:
    client = client_for(Role.GROWER)
    assert client.post("/labels/stocks/a4-63.5x33.9/withdraw", sent()).status_code in {400, 404}
    client.post("/labels/stocks/a4-63.5x33.9", sent(**SHEET))
    assert not OwnStock.objects.exists()


def test_the_stock_that_was_printed_on_last_is_proposed(
    client_for: ClientFor, people: People
) -> None:
    add_stock("bag-80x50", measures=BAG, form="bag", by=people[Role.GROWER])
    client = client_for(Role.GROWER)
    assert client.get("/labels/blank").context["form"].initial["stock"] == "letter-66.7x25.4"
    start_run((), blank=1, stock="bag-80x50", by=people[Role.GROWER])
    assert client.get("/labels/blank").context["form"].initial["stock"] == "bag-80x50"


def test_a_printer_is_added_measured_and_said_of_a_stock(
    client_for: ClientFor, people: People
) -> None:
    client = client_for(Role.GROWER)
    answer = client.post("/labels/printers/add", sent(name="Office", dpi="600"))
    printer = Printer.objects.get()
    path = reverse("labels:printer", args=[printer.pk])
    assert answer["Location"] == path

    pdf = client.get(f"{path}/check.pdf")
    assert page_sizes_mm(pdf.content) == [(215.9, 279.4)]
    assert "Both bars are 100 mm long" in " ".join(texts_of(pdf.content)[0].split())

    measures = {"across": "99.6", "down": "100.2", "left": "20.8", "top": "19.5"}
    done = client.post(path, sent(stock="letter-66.7x25.4", **measures), follow=True)
    for told in ("99.6 mm of 100 mm", "0.9 mm too far right", "0.5 mm too far up"):
        assert told in words_on(done)
    printer.refresh_from_db()
    assert (printer.across_tenths, printer.measured_by) == (996, people[Role.GROWER])

    client.post(
        "/labels/stocks/letter-66.7x25.4/adjust",
        sent(printer=str(printer.pk), right="0.3", down="-0.5"),
    )
    kept = Adjustment.objects.get()
    assert (kept.printer, kept.right_tenths, kept.down_tenths) == (printer, 3, -5)
    shown = client.get("/labels/stocks/letter-66.7x25.4").context["adjust"].initial
    assert shown == {"printer": printer.pk, "right": 0.3, "down": -0.5}


def test_a_label_printer_is_measured_on_its_own_labels(
    client_for: ClientFor, people: People
) -> None:
    grower = people[Role.GROWER]
    printer = add_printer("Labels", dpi=203, by=grower)
    add_stock("bag-80x50", measures=BAG, form="bag", by=grower)
    adjust_stock("bag-80x50", printer_id=printer.pk, by=grower)
    client = client_for(Role.GROWER)
    path = f"/labels/printers/{printer.pk}"
    assert "bars of 40 mm, 4 mm from the edges" in words_on(client.get(path))
    # 25 modules of 5 dots, of which 203 make an inch, and a phone that tells one of 250.
    told = "15.6 mm wide, reads from about 15 cm"
    assert told in words_on(client.get("/labels/stocks/bag-80x50"))
    assert told in words_on(client.get("/labels/"))
    assert page_sizes_mm(client.get(f"{path}/check.pdf").content) == [(80, 53)]
    client.post(path, sent(stock="bag-80x50", across="39.8", down="40", left="4.2", top="4"))
    printer.refresh_from_db()
    assert (printer.bar_mm, printer.corner_mm, printer.across_tenths) == (40, 4, 398)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"across": "96.4"}, "Print the check sheet at true size"),
        ({"across": "1000"}, "less than or equal to 500"),
        ({"across": "-1"}, "greater than or equal to 0"),
        ({"across": "99.55"}, "no more than 1 decimal place"),
        ({"across": "long"}, "Enter a number"),
        ({"left": ""}, "This field is required"),
        ({"top": "35"}, "Look how the paper lies in the printer"),
    ],
)
def test_measures_of_a_printer_that_cannot_be_are_said(
    client_for: ClientFor, people: People, fields: dict[str, str], message: str
) -> None:
    printer = add_printer("Office", by=people[Role.GROWER])
    true = {"across": "100", "down": "100", "left": "20", "top": "20", "stock": "a4-63.5x33.9"}
    path = f"/labels/printers/{printer.pk}"
    answer = client_for(Role.GROWER).post(path, sent(**(true | fields)))
    assert answer.status_code == 400
    assert message in words_on(answer)
    printer.refresh_from_db()
    assert printer.measured_at is None


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"right": "10.1"}, "cannot be moved 10.1 mm right"),
        ({"right": "9"}, "cut off at the right"),
        ({"down": "x"}, "Enter a number"),
        ({"printer": "99"}, "Select a valid choice"),
    ],
)
def test_an_offset_that_cannot_be_is_said(
    client_for: ClientFor, people: People, fields: dict[str, str], message: str
) -> None:
    asked = {"printer": "", "right": "0", "down": "0"} | fields
    answer = client_for(Role.GROWER).post("/labels/stocks/a4-63.5x33.9/adjust", sent(**asked))
    assert answer.status_code == 400
    assert message in words_on(answer)
    assert not Adjustment.objects.exists()


def test_a_printer_in_use_stays_and_the_page_says_why(
    client_for: ClientFor, people: People
) -> None:
    printer = add_printer("Office", by=people[Role.GROWER])
    adjust_stock("a4-63.5x33.9", printer_id=printer.pk, by=people[Role.GROWER])
    client = client_for(Role.GROWER)
    path = f"/labels/printers/{printer.pk}/withdraw"
    answer = client.post(path, sent())
    assert answer.status_code == 400
    assert "Choose another printer there first" in words_on(answer)
    adjust_stock("a4-63.5x33.9", printer_id=None, by=people[Role.GROWER])
    assert "used no longer" in words_on(client.post(path, sent(), follow=True))


def test_a_check_sheet_for_a_stock_that_there_is_not(client_for: ClientFor, people: People) -> None:
    printer = add_printer("Office", by=people[Role.GROWER])
    answer = client_for(Role.GROWER).get(f"/labels/printers/{printer.pk}/check.pdf?stock=round")
    assert answer.status_code == 400
    assert "no label stock “round”" in words_on(answer)
