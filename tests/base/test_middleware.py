"""What happens around every page: the organisation, plain errors, forms sent again."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import Conflict, NotFound
from fraginv.base.middleware import (
    OrganisationMiddleware,
    PlainErrorMiddleware,
    ReplayMiddleware,
)
from fraginv.base.models import Organisation, ReplayKey
from fraginv.base.queries.organisation import organisation as house
from fraginv.base.queries.organisation import present
from fraginv.base.rules.roles import Role
from fraginv.base.web import write_once
from tests.conftest import People

ClientFor = Callable[[Role | None], Client]
SEND = RequestFactory()


def nothing(request: HttpRequest) -> HttpResponse:
    """Answer with an empty page."""
    return HttpResponse()


def test_the_organisation_is_read_once_for_a_page(
    organisation: Organisation, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    def page(request: HttpRequest) -> HttpResponse:
        return HttpResponse(f"{house().name}, {house().zone}, {timezone.get_current_timezone()}")

    with django_assert_max_num_queries(1):
        answer = OrganisationMiddleware(page)(SEND.get("/"))
    expected = "Tidewater Hall Aquarium, America/New_York, America/New_York"
    assert answer.content.decode() == expected
    assert present.get() is None
    assert str(timezone.get_current_timezone()) == "UTC"


def test_it_is_let_go_when_a_page_fails(organisation: Organisation) -> None:
    def page(request: HttpRequest) -> HttpResponse:
        raise RuntimeError("a slip of ours")

    with pytest.raises(RuntimeError):
        OrganisationMiddleware(page)(SEND.get("/"))
    assert present.get() is None


def test_before_the_first_run_a_page_says_what_to_do(client: Client, db: None) -> None:
    answer = client.get("/sign-in")
    assert answer.status_code == 503
    assert "manage.py start" in answer.content.decode()


@pytest.mark.parametrize(
    ("path", "status", "said"),
    [
        ("/trade/sales/0", 404, "sale"),
        ("/T/7K3Q9FM", 400, "A character in"),
        ("/T/7K3Q9FN", 404, "none of ours"),
        ("/costs?month=2026-13", 400, "month"),
    ],
)
def test_an_expected_error_is_a_page_with_its_own_status(
    client_for: ClientFor, path: str, status: int, said: str
) -> None:
    answer = client_for(Role.OWNER).get(path, follow=True)
    assert (answer.status_code, said in answer.content.decode()) == (status, True), (
        answer.status_code,
        answer.content.decode()[-600:],
    )


def test_only_our_own_errors_are_told(organisation: Organisation, people: People) -> None:
    request = SEND.get("/")
    request.user = people[Role.SELLER]
    plain = PlainErrorMiddleware(nothing)
    assert plain.process_exception(request, RuntimeError("a slip of ours")) is None
    answer = plain.process_exception(request, NotFound("There is no <such> thing."))
    assert answer is not None
    assert answer.status_code == 404
    assert "There is no &lt;such&gt; thing." in answer.content.decode()
    assert plain(request).status_code == 200


def test_a_form_sent_again_never_reaches_its_view(people: People) -> None:
    fields = {"replay_key": str(uuid4()), "pieces": "5"}

    def form(**changes: str) -> HttpRequest:
        request = SEND.post("/trade/hold/7K3Q9FN", fields | changes)
        request.user = people[Role.SELLER]
        return request

    again = ReplayMiddleware(nothing)
    assert again.process_view(form(), nothing, (), {}) is None
    write_once(form(), lambda: "/T/7K3Q9FN")
    answer = again.process_view(form(), nothing, (), {})
    assert answer is not None
    assert (answer.status_code, answer["Location"]) == (303, "/T/7K3Q9FN")
    other = again.process_view(form(pieces="6"), nothing, (), {})
    assert other is not None
    assert other.status_code == Conflict.status == 409
    assert "sent before with other content" in other.content.decode()
    for key in ("", "one"):
        seen = again.process_view(form(replay_key=key), nothing, (), {})
        assert seen is None or seen.status_code == 400
    assert ReplayKey.objects.count() == 1
    assert again(form()).status_code == 200


@pytest.mark.parametrize("path", ["/sign-in?next=%00", "/find?q=%00", "/colonies?q=a%00b"])
def test_nul_characters_are_refused(client_for: Callable[[Role | None], Client], path: str) -> None:
    assert client_for(Role.OWNER).get(path).status_code == 400


def test_nul_characters_in_a_form_are_refused(client_for: Callable[..., Client]) -> None:
    answer = client_for(None).post("/sign-in", {"demo": "\x00"})
    assert answer.status_code == 400
    assert "character that no text has" in answer.content.decode()
