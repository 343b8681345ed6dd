"""Who may open what: every page, method and role, and nobody, on own things and others'."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right, Role, can
from fraginv.front.access import ACCESS, PUBLIC, SIGNED_IN, Need
from fraginv.front.middleware import need_of
from tests.conftest import People
from tests.front.rows import one_of_each, url_names

ClientFor = Callable[[Role | None], Client]
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
# Pages that work on what their address asks for.
ASKING = {"stock:grade": "codes", "stock:healed": "codes", "stock:place": "codes"}
ASKING |= {"stock:release_many": "codes", "stock:clean": "codes"}
ASKING |= {"stock:not_ready": "codes", "front:scan_look": "code"}
ASKING |= {"stock:dip": "codes", "stock:remount": "codes", "stock:give": "codes"}
# There is an organisation already; no worker runs beside the test.
OTHERWISE = {"front:begin": 404, "upkeep:health": 503}
OTHERWISE |= {"front:scan_done": 404}  # no scan was made
OTHERWISE |= {"front:load_waiting": 404}  # what somebody sent is for nobody else
OF_PIECES = {f"reports:{page}" for page in ("losses", "losses_csv", "losses_xlsx")}
OF_PIECES |= {"reports:survival", "reports:survival_csv"}
LEAVING = {"people:sign_out", "people:change"}  # these end the visit
# What anybody may open at the door, and what everybody may do with the own key to it.
DOOR = {f"people:{name}" for name in ("sign_in", "second", "change", "take", "accept")}
OWN = {f"people:{name}" for name in ("pin", "factor", "factor_key", "factor_codes", "factor_off")}


def test_table_lists_every_page_and_nothing_else() -> None:
    assert set(ACCESS) == set(url_names())


def test_a_page_that_is_not_listed_is_refused(
    client_for: ClientFor, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = client_for(Role.OWNER)
    assert client.get("/colonies").status_code == 200
    rest = {name: row for name, row in ACCESS.items() if name != "front:colonies"}
    monkeypatch.setattr("fraginv.front.middleware.ACCESS", rest)
    assert client.get("/colonies").status_code == 403


def test_an_address_that_leads_nowhere_needs_nothing() -> None:
    assert need_of(RequestFactory().get("/nowhere")) is None


@pytest.mark.parametrize("method", ["HEAD", "OPTIONS"])
def test_looking_at_headers_needs_what_the_page_needs(client_for: ClientFor, method: str) -> None:
    assert client_for(Role.READER).generic(method, "/colonies/").status_code == 404
    assert client_for(Role.READER).generic(method, "/colonies").status_code == 200
    assert client_for(Role.READER).generic(method, "/stock/colonies/add").status_code == 403
    assert client_for(None).generic(method, "/colonies").status_code == 302


def may(role: Role | None, need: Need | None) -> bool:
    """Tell from the table of rights alone whether a role may."""
    if need is None:
        return False
    if need == PUBLIC:
        return True
    return role is not None and (need == SIGNED_IN or can(role, Right(need)))


def needed(page: str, method: str) -> Need | None:
    """Return what the access table asks."""
    return ACCESS[page].get(method)


def judge(answer: Any, *, role: Role | None, need: Need | None) -> str:
    """Say what is wrong with an answer, or nothing."""
    to_sign_in = answer.status_code == 302 and answer["Location"].startswith("/sign-in?")
    if need is not None and role is None and need != PUBLIC:
        return "" if to_sign_in else "a stranger was not sent to the sign-in page"
    if not may(role, need):
        return "" if answer.status_code == 403 else "it was not refused"
    return "it was refused" if answer.status_code == 403 or to_sign_in else ""


def readers() -> list[Any]:
    """Return every role with own things and others', and nobody."""
    cases = [(role, own) for role in Role for own in (True, False)]
    return [
        pytest.param(role, own, id=f"{role or 'nobody'}-{'own' if own else 'foreign'}")
        for role, own in [*cases, (None, False)]
    ]


@pytest.mark.parametrize(("role", "own"), readers())
def test_every_page_and_method(
    client_for: ClientFor, people: People, role: Role | None, *, own: bool
) -> None:
    other = Role.OWNER if role is not Role.OWNER else Role.MANAGER
    maker: Person = people[role if own and role else other]
    arguments, client = one_of_each(people, by=maker), client_for(role)
    wrong = []
    for page in url_names():
        if page in LEAVING:
            continue
        url, given = reverse(page, kwargs=arguments(page)), arguments("front:code")["text"]
        query = {ASKING[page]: given} if page in ASKING else {}
        for method in METHODS:
            answer = client.generic(method, url, query_params=query)
            fault = judge(answer, role=role, need=needed(page, method))
            if not fault and method == "GET" and may(role, needed(page, method)):
                right = {200, 302, OTHERWISE.get(page)}
                fault = "" if answer.status_code in right else f"status {answer.status_code}"
            if fault:
                wrong.append(f"{method} {url}: {fault}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("role", [*Role, None])
def test_signing_out_is_for_whoever_is_in(client_for: ClientFor, role: Role | None) -> None:
    client = client_for(role)
    assert client.get("/sign-out").status_code == 403
    answer = client.post("/sign-out")
    assert (answer.status_code, answer["Location"].split("?")[0]) == (
        302 if role is None else 303,
        "/sign-in",
    )
    assert client.get("/").status_code == 302


# Written out by hand, beside the table: what must hold whatever the table says.
def pages_for(role: Role | None, method: str) -> set[str]:
    return {page for page in ACCESS if may(role, needed(page, method))}


def test_visitors_see_the_labels_pages_and_the_door_alone() -> None:
    seen = {"front:begin", "front:code", "growth:photo", "upkeep:health"}
    assert pages_for(None, "GET") == DOOR | seen
    assert pages_for(None, "POST") == DOOR | {"people:forget", "front:begin"}


def test_a_reader_changes_nothing() -> None:
    own = OWN | {"people:sign_out", "people:pin_off", "people:factor_later"}
    own |= {"people:password", "people:leave"}
    own |= {"front:scan_frame"}  # a picture is read, and nothing of it is kept
    assert pages_for(Role.READER, "POST") == DOOR | own | {"people:forget", "front:begin"}


def test_growers_see_no_money_and_sellers_no_costs() -> None:
    packages = {page.split(":")[0] for page in pages_for(Role.GROWER, "GET")}
    assert packages == {"people", "front", "stock", "growth", "labels", "upkeep", "reports"}
    for role in (Role.GROWER, Role.SELLER):
        reports = {
            page
            for page in pages_for(role, "GET")
            if page.startswith(("costs:", "ledger:", "reports:"))
        }
        assert reports == OF_PIECES  # counted in pieces, not in money
    assert "stock:cut" not in pages_for(Role.SELLER, "POST")
