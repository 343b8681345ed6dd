"""The headers of every answer, without a page behind them."""

import re
from collections.abc import Callable

import pytest
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory

from fraginv.base.headers import (
    ALLOWED,
    ASK_AGAIN,
    FIXED,
    KEEP_NOTHING,
    REFUSED,
    HeadersMiddleware,
    permissions,
)

SEND = RequestFactory()


def answering(response: HttpResponse) -> Callable[[HttpRequest], HttpResponse]:
    return lambda request: response


def test_whoever_has_a_visit_leaves_nothing_behind() -> None:
    request = SEND.get("/")
    assert HeadersMiddleware(answering(HttpResponse()))(request)["Cache-Control"] == ASK_AGAIN
    request.COOKIES[settings.SESSION_COOKIE_NAME] = "any"
    assert HeadersMiddleware(answering(HttpResponse()))(request)["Cache-Control"] == KEEP_NOTHING


def test_a_visit_that_begins_or_ends_with_this_answer_counts() -> None:
    begun, ended = HttpResponse(), HttpResponse()
    begun.set_cookie(settings.SESSION_COOKIE_NAME, "new")
    ended.delete_cookie(settings.SESSION_COOKIE_NAME)
    for response in (begun, ended):
        assert HeadersMiddleware(answering(response))(SEND.get("/"))["Cache-Control"] == (
            KEEP_NOTHING
        )


@pytest.mark.parametrize("name", [*FIXED, "Cache-Control"])
def test_what_a_view_says_for_its_own_answer_stands(name: str) -> None:
    said = HttpResponse(headers={name: "as the view says"})
    assert HeadersMiddleware(answering(said))(SEND.get("/"))[name] == "as the view says"


def test_the_permissions_policy_is_well_formed() -> None:
    # Permissions Policy (W3C), section 5.2: a structured header of names and allowlists.
    parts = FIXED["Permissions-Policy"].split(", ")
    assert len(parts) == len({*ALLOWED, *REFUSED}) == len(ALLOWED) + len(REFUSED)
    assert all(re.fullmatch(r"[a-z-]+=\((self)?\)", part) for part in parts)
    assert [part for part in parts if "self" in part] == ["clipboard-write=(self)"]


def test_a_page_may_ask_for_more_than_every_page() -> None:
    parts = permissions("camera").split(", ")
    assert sorted(part.partition("=")[0] for part in parts) == sorted({*ALLOWED, *REFUSED})
    assert [part for part in parts if "self" in part] == [
        "clipboard-write=(self)",
        "camera=(self)",
    ]


def test_it_stands_before_all_other_middleware() -> None:
    # Only what writes the log, and believes or drops a proxy's word, may come before it.
    names = [name.rpartition(".")[2] for name in settings.MIDDLEWARE]
    before = names[: names.index("HeadersMiddleware")]
    assert set(before) <= {"LogMiddleware", "ProxyMiddleware"}
    assert names.index("HeadersMiddleware") < names.index("CSPMiddleware")
    assert names.index("CSPMiddleware") < names.index("WhiteNoiseMiddleware")
