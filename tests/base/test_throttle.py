"""Look-ups by strangers: allowances, addresses, and who is never asked to wait."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.cache import caches
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import Organisation, Person
from fraginv.base.throttle import (
    ALLOWANCE,
    CACHE,
    HIT,
    MISS,
    key_of,
    spend,
    throttled,
)

SEND = RequestFactory()
MINUTE = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
Ask = Callable[..., HttpResponse]


@pytest.fixture(autouse=True)
def _one_minute(organisation: Organisation) -> Iterator[None]:
    """Count within one minute."""
    with clock.at(MINUTE):
        yield


def request_of(address: str = "192.0.2.7", *, by: Person | None = None) -> HttpRequest:
    request = SEND.get("/T/7K3Q9FN", REMOTE_ADDR=address)
    request.user = by or AnonymousUser()
    return request


@throttled()
def answering(request: HttpRequest, *, status: int = 200) -> HttpResponse:
    return HttpResponse(status=status)


def asked(times: int, *, address: str = "192.0.2.7", status: int = 200) -> list[int]:
    """Return the statuses of so many look-ups, without repeats."""
    seen = [answering(request_of(address), status=status).status_code for _ in range(times)]
    return list(dict.fromkeys(seen))


def test_a_minute_holds_its_allowance_of_hits() -> None:
    assert asked(ALLOWANCE // HIT) == [200]
    assert asked(1) == [429]
    assert asked(1, address="192.0.2.8") == [200]


@pytest.mark.parametrize("status", [404, 410])
def test_a_miss_costs_ten_times_as_much(status: int) -> None:
    assert asked(ALLOWANCE // MISS, status=status) == [status]
    assert asked(1) == [429]


def test_an_open_day_behind_one_address() -> None:
    # 60 people, a label every 40 seconds, three of them not in use, and typing errors.
    assert asked(87) == [200]
    assert asked(3, status=404) == [404]
    assert asked(3, status=400) == [400]


def test_the_next_minute_is_new() -> None:
    asked(ALLOWANCE)
    with clock.at(MINUTE + timedelta(seconds=45)):
        late = answering(request_of())
        assert (late.status_code, late["Retry-After"]) == (429, "15")
        assert "Wait 15 seconds" in late.content.decode()
    with clock.at(MINUTE + timedelta(seconds=60)):
        assert asked(1) == [200]


def test_the_crew_never_waits(grower: Person) -> None:
    asked(ALLOWANCE)
    assert answering(request_of(by=grower)).status_code == 200
    caches[CACHE].clear()
    for _ in range(ALLOWANCE + 1):
        assert answering(request_of(by=grower)).status_code == 200
    assert asked(ALLOWANCE) == [200]


@pytest.mark.parametrize(
    ("error", "many"), [(NotFound("None."), ALLOWANCE // MISS), (InputError("No."), ALLOWANCE)]
)
def test_an_error_counts_as_what_it_is(error: NotFound | InputError, many: int) -> None:
    @throttled()
    def failing(request: HttpRequest) -> HttpResponse:
        raise error

    for _ in range(many):
        with pytest.raises(type(error)):
            failing(request_of())
    assert failing(request_of()).status_code == 429


def test_what_costs_nothing_waits_with_the_rest() -> None:
    @throttled(hit=0)
    def picture(request: HttpRequest) -> HttpResponse:
        return HttpResponse()

    for _ in range(2 * ALLOWANCE):
        assert picture(request_of()).status_code == 200
    asked(ALLOWANCE)
    assert picture(request_of()).status_code == 429


def test_who_has_no_address_is_one_asker() -> None:
    assert key_of(SEND.get("/", REMOTE_ADDR="")).startswith("unknown@")


def test_a_count_that_the_cache_forgot_begins_anew(
    monkeypatch: pytest.MonkeyPatch, settings: Settings
) -> None:
    monkeypatch.setattr(caches[CACHE], "add", lambda *args, **kwargs: False)
    spend(request_of(), 7)
    assert [caches[CACHE].get(f"192.0.2.7@{int(MINUTE.timestamp()) // 60}")] == [7]
    assert settings.CACHES[CACHE]["OPTIONS"]["MAX_ENTRIES"] >= 10_000
