"""What pages that write do alike."""

from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory

from fraginv.base import clock
from fraginv.base.actions.founding import add_party
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Organisation, Party, Person, ReplayKey
from fraginv.base.web import (
    SeeOther,
    answered_before,
    form_status,
    month_asked,
    pdf_response,
    person_of,
    sent,
    submit,
    way_back,
    what_was_sent,
    write_once,
)
from tests.refusing import refused

SEND = RequestFactory()


class NameForm(forms.Form):
    name = forms.CharField()


def posted(person: Person, **fields: Any) -> HttpRequest:
    """Return a form as it comes in from a person, with a key of its own."""
    request = SEND.post("/parties/add", {"replay_key": str(uuid4())} | fields)
    request.user = person
    return request


def add(request: HttpRequest, name: str = "Ines Varga") -> HttpResponse | None:
    """Do what a view does with such a form."""
    form = NameForm(sent(request))
    return submit(request, form, lambda: f"/parties/{add_party(name).pk}")


def test_a_write_goes_on_with_a_get_to_the_page_it_names(seller: Person) -> None:
    answer = add(posted(seller, name="Ines Varga"))
    assert isinstance(answer, SeeOther)
    # RFC 9110, section 15.4.4: 303 See Other is followed with GET.
    assert answer.status_code == 303
    assert answer["Location"] == f"/parties/{Party.objects.get().pk}"


def test_the_same_form_again_gives_the_same_page(seller: Person) -> None:
    key = str(uuid4())
    answers = [add(posted(seller, name="Ines", replay_key=key)) for _ in range(3)]
    assert len({answer["Location"] for answer in answers if answer is not None}) == 1
    assert Party.objects.count() == 1


def test_a_token_of_the_page_is_no_content(seller: Person) -> None:
    key = str(uuid4())
    for token in ("a", "b"):
        assert add(posted(seller, name="Ines", replay_key=key, csrfmiddlewaretoken=token))
    assert Party.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"name": "Ines", "replay_key": ""}, "came without its key"),
        ({"name": "Ines", "replay_key": "one"}, "came without its key"),
        ({"name": ""}, "This field is required."),
    ],
    ids=["no key", "no such key", "no name"],
)
def test_what_is_wrong_stands_on_the_form(
    seller: Person, fields: dict[str, str], said: str
) -> None:
    request = posted(seller, **fields)
    form = NameForm(sent(request))
    assert submit(request, form, lambda: "/") is None
    assert form_status(form) == 400
    assert said in str(form.errors)
    assert not ReplayKey.objects.exists()


def test_a_refusal_of_the_action_stands_on_the_form(seller: Person) -> None:
    request = posted(seller, name="Ines")
    form = NameForm(sent(request))

    def do() -> str:
        raise Conflict("Ines has it until noon.")

    assert submit(request, form, do) is None
    assert form.non_field_errors() == ["Ines has it until noon."]
    assert form_status(form) == 400


def test_another_error_is_not_swallowed(seller: Person) -> None:
    def do() -> str:
        raise RuntimeError("a slip of ours")

    request = posted(seller, name="Ines")
    with pytest.raises(RuntimeError, match="a slip"):
        submit(request, NameForm(sent(request)), do)


def test_a_page_that_is_looked_at_writes_nothing(seller: Person) -> None:
    request = SEND.get("/parties/add")
    request.user = seller
    form = NameForm(sent(request))
    assert (sent(request), form.is_bound, form_status(form)) == (None, False, 200)
    assert submit(request, form, lambda: "/") is None
    assert answered_before(request) is None
    assert person_of(request) is seller


def file_sent(person: Person, content: bytes, *, key: str, name: str = "a.jpg") -> HttpRequest:
    upload = SimpleUploadedFile(name, content, content_type="image/jpeg")
    return posted(person, replay_key=key, caption="one", picture=upload)


def test_files_are_part_of_what_was_sent_and_can_still_be_read(seller: Person) -> None:
    key = str(uuid4())
    request = file_sent(seller, b"x" * 200_000, key=key)
    write_once(request, lambda: f"/photos/{len(request.FILES.getlist('picture')[0].read())}")
    same = file_sent(seller, b"x" * 200_000, key=key)
    before = answered_before(same)
    assert before is not None
    assert before["Location"] == "/photos/200000"
    for other in (b"x" * 199_999 + b"y", b""):
        with refused("other content", error=Conflict):
            answered_before(file_sent(seller, other, key=key))
    with refused("other content", error=Conflict):
        answered_before(file_sent(seller, b"x" * 200_000, key=key, name="b.jpg"))


def test_the_page_and_every_value_are_part_of_what_was_sent(seller: Person) -> None:
    request = posted(seller, codes=["A", "B"], csrfmiddlewaretoken="t")
    assert what_was_sent(request) == {"codes": ["A", "B"], "path": "/parties/add"}


def test_nobody_was_answered_before(seller: Person) -> None:
    request = posted(seller, name="Ines")
    assert answered_before(request) is None
    add(request)
    assert answered_before(request) is not None
    request.user = None  # type: ignore[assignment]
    assert answered_before(request) is None


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("/T/7K3Q9FN", "/T/7K3Q9FN"),
        ("/trade/sell?name=Ines", "/trade/sell?name=Ines"),
        ("", "/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("/\\elsewhere.example/", "/"),
        ("///elsewhere.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/" + "x" * 250, "/"),
        ("/" + "x" * 249, "/" + "x" * 249),
    ],
)
def test_the_way_back_stays_on_these_pages(text: str, path: str) -> None:
    assert way_back(text, default="/") == path


@pytest.mark.parametrize(
    ("asked", "month"), [("", 202611), ("?month=2026-02", 202602), ("?month=2025-12", 202512)]
)
def test_a_page_is_of_the_month_asked_for(
    organisation: Organisation, asked: str, month: int
) -> None:
    # In New York it is still November then.
    with clock.at(datetime(2026, 12, 1, 4, tzinfo=UTC)):
        assert month_asked(SEND.get(f"/costs{asked}")).month == month


@pytest.mark.parametrize("text", ["2026-13", "2026", "november", "2026-00"])
def test_what_is_no_month_is_refused(organisation: Organisation, text: str) -> None:
    with pytest.raises(InputError, match="month"):
        month_asked(SEND.get("/costs", {"month": text}))


def test_a_pdf_is_shown_and_not_kept_by_others() -> None:
    answer = pdf_response(b"%PDF-1.7", name="month.pdf")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="month.pdf"'
    assert answer["Cache-Control"] == "private, no-store"
