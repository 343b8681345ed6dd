"""Signed links: what they carry, for what, and until when."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.signing import TimestampSigner, dumps
from hypothesis import given
from hypothesis import strategies as st
from pytest_django import Settings

from fraginv.base import clock
from fraginv.base.links import EndedLink, Value, WrongLink, read_link, sign_link

NOON = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
KEYS = ("k" * 60, "n" * 60)


@given(st.text(max_size=200) | st.integers(min_value=0, max_value=2**53))
def test_what_was_signed_reads_back(value: Value) -> None:
    link = sign_link("sheet", value, days=7)
    assert read_link("sheet", link) == value
    # RFC 3986, section 2.3: these characters mean themselves anywhere in an address.
    assert set(link) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_:.")


def test_it_ends_when_its_days_are_over() -> None:
    with clock.at(NOON):
        link = sign_link("sheet", "7", days=7)
    with clock.at(NOON + timedelta(days=7, seconds=-1)):
        assert read_link("sheet", link) == "7"
    with clock.at(NOON + timedelta(days=7)), pytest.raises(EndedLink, match="has ended") as ended:
        read_link("sheet", link)
    assert ended.value.status == 410


@pytest.mark.parametrize(
    "changed",
    [
        lambda link: link[:-1] + ("A" if link[-1] != "A" else "B"),
        lambda link: "A" + link[1:],
        lambda link: link + "x",
        lambda link: link[:-4],
        lambda link: link.partition(":")[0],
        lambda link: "",
        lambda link: ":" + link,
        lambda link: link * 100,
        lambda link: "é" + link,
        lambda link: "\x00",
    ],
)
def test_a_changed_link_leads_nowhere(changed: "type[str]") -> None:
    link = sign_link("sheet", "7", days=7)
    assert read_link("sheet", link) == "7"
    with pytest.raises(WrongLink, match="does not lead anywhere") as wrong:
        read_link("sheet", changed(link))
    assert wrong.value.status == 404


def test_a_link_opens_one_thing_alone() -> None:
    link = sign_link("sheet", "7", days=7)
    with pytest.raises(WrongLink):
        read_link("statement", link)


def test_other_signatures_of_the_house_are_no_links() -> None:
    for signed in (dumps(["7", 2**40]), TimestampSigner().sign_object(["7", 2**40])):
        with pytest.raises(WrongLink):
            read_link("sheet", signed)


def test_another_key_reads_nothing_unless_it_follows_the_first(settings: Settings) -> None:
    settings.SECRET_KEY = KEYS[0]
    link = sign_link("sheet", "7", days=7)
    settings.SECRET_KEY = KEYS[1]
    with pytest.raises(WrongLink):
        read_link("sheet", link)
    settings.SECRET_KEY_FALLBACKS = [KEYS[0]]
    assert read_link("sheet", link) == "7"


@pytest.mark.parametrize("days", [0, -1, 401])
def test_a_link_without_an_end_is_not_made(days: int) -> None:
    with pytest.raises(ValueError, match="1 to 400 days"):
        sign_link("sheet", "7", days=days)
