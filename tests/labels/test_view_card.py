"""The page of the measuring card: chosen, opened, and led on to the printer."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Organisation, Person
from fraginv.base.rules.roles import Role
from fraginv.labels.actions.stocks import add_printer, measure_printer, withdraw_printer
from fraginv.labels.queries.card import card_pdf
from fraginv.labels.queries.stocks import get_printer
from fraginv.labels.rules.printers import Check, Measures
from tests.base.papers import page_sizes_mm, texts_of
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
SMALL = Measures(985, 990, 200, 200)


def test_the_card_opens_for_the_house_s_paper(client_for: ClientFor) -> None:
    house = Organisation.objects.get()
    client = client_for(Role.GROWER)
    for paper, size in (("a4", (148.0, 210.0)), ("letter", (215.9, 279.4))):
        house.paper = paper
        house.save(update_fields=["paper"])
        answer = client.get("/labels/card.pdf")
        assert answer["Content-Type"] == "application/pdf"
        assert page_sizes_mm(answer.content) == [size]
        chosen = client.get("/labels/card").context["form"].initial["paper"]
        assert chosen == {"a4": "a5", "letter": "letter"}[paper]


def test_it_opens_for_a_printer_that_was_measured(
    client_for: ClientFor,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    printer = add_printer("Office", by=grower)
    client = client_for(Role.SELLER)
    page = client.get("/labels/card")
    assert "Measure Office" in words_on(page)
    assert 'value="' + str(printer.pk) not in page.content.decode()
    measure_printer(printer.pk, measures=SMALL, check=Check(), by=grower)
    page = client.get(f"/labels/card?printer={printer.pk}")
    assert f'<option value="{printer.pk}" selected>Office</option>' in page.content.decode()
    assert "Measure Office again" in words_on(page)
    with django_assert_max_num_queries(4):
        answer = client.get(f"/labels/card.pdf?paper=a5&printer={printer.pk}")
    assert answer.content == card_pdf("a5", printer=get_printer(printer.pk))
    assert "For Office alone" in texts_of(answer.content)[0]
    shown = client.get(f"/labels/printers/{printer.pk}").content.decode()
    assert f'href="/labels/card?printer={printer.pk}"' in shown


def test_without_a_printer_it_leads_to_writing_one_down(client_for: ClientFor) -> None:
    page = client_for(Role.GROWER).get("/labels/card")
    assert 'href="/labels/printers/add"' in page.content.decode()
    said = words_on(page)
    for words in (
        *("no “fit to page”", "Measure its bar, once for each printer", "nothing can tell"),
        *("the whole card in the picture", "25 to 40 cm", "Check it with a coin"),
        *("US quarter", "24.26 mm wide, 462 mm²", "1 euro", "23.25 mm wide, 425 mm²"),
    ):
        assert words in said


def test_a_printer_out_of_use_is_not_offered(client_for: ClientFor, grower: Person) -> None:
    printer = add_printer("Attic", by=grower)
    withdraw_printer(printer.pk, by=grower)
    assert "Attic" not in words_on(client_for(Role.GROWER).get("/labels/card"))


@pytest.mark.parametrize("path", ["/labels/", "/labels/stocks", "/labels/lost"])
def test_pages_about_labels_and_printers_lead_to_it(client_for: ClientFor, path: str) -> None:
    text = client_for(Role.GROWER).get(path).content.decode()
    assert ('href="/labels/card"' in text) == (path != "/labels/lost")


@pytest.mark.parametrize(
    ("asked", "status", "message"),
    [
        ("paper=a4", 400, "printed on a5 or letter, not on “a4”"),
        ("paper=%20%F0%9F%AA%B8", 400, "printed on a5 or letter"),
        ("printer=99", 404, "no such printer"),
        ("printer=-1", 404, "no such printer"),
        ("printer=first", 404, "no such printer"),
        ("printer=99999999999999999999", 404, "no such printer"),
        ("printer={unmeasured}", 400, "Nobody has measured Attic yet"),
    ],
)
def test_what_cannot_be_printed_is_said(
    client_for: ClientFor, grower: Person, asked: str, status: int, message: str
) -> None:
    unmeasured = add_printer("Attic", by=grower).pk
    answer = client_for(Role.GROWER).get(f"/labels/card.pdf?{asked.format(unmeasured=unmeasured)}")
    assert answer.status_code == status
    assert message in words_on(answer)
