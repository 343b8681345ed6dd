"""The pages that print labels."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fraginv.base.models import Code
from fraginv.base.rules.codes import read_code, show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.models import PrintRun
from tests.base.papers import symbols_of
from tests.conftest import People
from tests.factories import make_frags, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
KEY = "4be3a7a0-7d6b-4f7e-9d7e-1f0e8f6f0a01"
PRINT, BLANK = "/labels/", "/labels/blank"


def sent(**fields: Any) -> dict[str, Any]:
    """Return a form as a browser sends it."""
    return {"replay_key": KEY, "stock": "letter-66.7x25.4", "skip": "0"} | fields


def test_a_grower_prints_the_labels_of_a_cutting(client_for: ClientFor, people: People) -> None:
    frags = make_frags(people[Role.GROWER], 5)
    client = client_for(Role.GROWER)

    page = client.get(PRINT, {"cutting": str(frags[0].cutting_id)})
    assert page.status_code == 200
    codes = page.context["form"].initial["codes"]
    assert codes.split("\n") == [show_code(frag.code_id) for frag in frags]
    answer = client.post(PRINT, sent(codes=codes, skip="7"), follow=True)

    # A page of the house that leads to the sheets, not the sheets instead of every page.
    run = PrintRun.objects.get().pk
    assert answer.redirect_chain == [(reverse("labels:run_page", args=[run]), 303)]
    sheets = reverse("labels:run", args=[run])
    assert f'href="{sheets}" target="_blank" rel="noopener"' in answer.content.decode()
    answer = client.get(sheets)
    assert answer["Content-Type"] == "application/pdf"
    (found,) = symbols_of(answer.content)
    assert {read_code(one.text) for one in found} == {frag.code_id for frag in frags}


def test_codes_in_the_address_fill_the_form(client_for: ClientFor, people: People) -> None:
    page = client_for(Role.SELLER).get(PRINT, {"codes": ["7K3-Q9F-N", "0000002"]})
    assert page.context["form"].initial["codes"] == "7K3-Q9F-N\n0000002"
    assert "7K3-Q9F-N\n0000002" in page.content.decode()
    assert "16.9 mm wide, reads from about 15 cm" in page.content.decode()


@pytest.mark.parametrize("path", [PRINT, BLANK])
def test_the_pages_speak_no_printer_s_jargon(
    client_for: ClientFor, people: People, path: str
) -> None:
    text = client_for(Role.GROWER).get(path).content.decode().partition("<main")[2]
    assert "QR code" in text
    for word in ("module", "symbol", "Symbol", " host"):
        assert word not in text


def test_codes_may_stand_in_one_line(client_for: ClientFor, people: People) -> None:
    one, two = (frag.code_id for frag in make_frags(people[Role.GROWER], 2))
    client_for(Role.GROWER).post(PRINT, sent(codes=f" {one} , {two};\r\n\r\n"))
    assert PrintRun.objects.get().count == 2


def test_blank_labels_are_printed_once_however_often_sent(
    client_for: ClientFor, people: People
) -> None:
    client = client_for(Role.GROWER)
    assert client.get(BLANK).status_code == 200

    first = client.post(BLANK, sent(blank="30"))
    again = client.post(BLANK, sent(blank="30"))

    assert first.status_code == again.status_code == 303
    assert first["Location"] == again["Location"]
    assert Code.objects.filter(kind="blank").count() == 30
    assert sum(map(len, symbols_of(client.get(f"{first['Location']}.pdf").content))) == 30


@pytest.mark.parametrize(
    ("path", "fields", "message"),
    [
        (PRINT, {"codes": ""}, "This field is required"),
        (PRINT, {"codes": " ,; \n"}, "No labels were asked for"),
        (PRINT, {"codes": ",;,"}, "No labels were asked for"),
        (PRINT, {"codes": "7K3-Q9F-M"}, "A character in 7K3-Q9F-M is wrong"),
        (PRINT, {"codes": "7K3-Q9F-N"}, "No such code was made here"),
        (BLANK, {"blank": "0"}, "greater than or equal to 1"),
        (BLANK, {"blank": "10000"}, "less than or equal to 5000"),
        (BLANK, {"blank": "many"}, "whole number"),
        (BLANK, {"blank": "1", "skip": "30"}, "less than or equal to 29"),
        (BLANK, {"blank": "1", "skip": "24", "stock": "a4-63.5x33.9"}, "skip 0 to 23"),
        (BLANK, {"blank": "1", "skip": "-1"}, "greater than or equal to 0"),
        (BLANK, {"blank": "1", "stock": "round"}, "valid choice"),
        (BLANK, {"blank": "1", "replay_key": ""}, "without its key"),
    ],
)
def test_bad_input_is_said_and_nothing_is_written(
    client_for: ClientFor, people: People, path: str, fields: dict[str, str], message: str
) -> None:
    answer = client_for(Role.GROWER).post(path, sent(**fields))
    assert answer.status_code == 400
    assert message in words_on(answer)
    assert not PrintRun.objects.exists()
    assert not Code.objects.exists()


@pytest.mark.parametrize("cutting", ["99", "x", "-1", "1" * 40, "１"])
def test_a_cutting_that_is_not_there(client_for: ClientFor, people: People, cutting: str) -> None:
    answer = client_for(Role.GROWER).get(PRINT, {"cutting": cutting})
    assert answer.status_code in {400, 404}
    assert "cutting" in answer.content.decode()


def test_a_run_that_is_not_there(client_for: ClientFor, people: People) -> None:
    answer = client_for(Role.GROWER).get("/labels/runs/99.pdf")
    assert answer.status_code == 404
    assert "no such print run" in answer.content.decode()


@pytest.mark.parametrize("path", [PRINT, BLANK, "/labels/runs/1.pdf"])
def test_readers_and_strangers_print_nothing(
    client_for: ClientFor, people: People, path: str
) -> None:
    assert client_for(Role.READER).get(path).status_code == 403
    stranger = client_for(None).get(path)
    assert stranger.status_code == 302
    assert stranger["Location"].startswith("/sign-in")


def test_the_sheet_goes_on_where_the_last_run_ended(client_for: ClientFor, people: People) -> None:
    client = client_for(Role.GROWER)
    assert "As many as the last run used" not in words_on(client.get(PRINT))
    client.post(BLANK, sent(blank="35", skip="4"))
    for path in (PRINT, BLANK):
        page = client.get(path)
        assert page.context["form"]["skip"].value() == 9
        assert "As many as the last run used of its last sheet." in words_on(page)
    client.post(BLANK, sent(blank="21", skip="9") | {"replay_key": str(uuid4())})
    assert client.get(PRINT).context["form"]["skip"].value() == 0


def test_what_was_printed_lately_can_be_printed_again(
    client_for: ClientFor, people: People
) -> None:
    client = client_for(Role.GROWER)
    make_variety(people[Role.GROWER])
    client.post(BLANK, sent(blank="2"))
    page = client.get(BLANK).content.decode()
    assert "2 blank labels" in page
    run = PrintRun.objects.get()
    assert f'href="{reverse("labels:run_page", args=[run.pk])}"' in page
    page = client.get(reverse("labels:run_page", args=[run.pk])).content.decode()
    assert f'href="{reverse("labels:run", args=[run.pk])}"' in page
