"""Amounts, days, moments and shares read as the organisation writes them."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

import pytest
from django.template import Context, Template

from fraginv.base.models import Organisation
from fraginv.base.show import (
    show_clock,
    show_day,
    show_moment,
    show_money,
    show_money_whole,
    show_month,
    show_month_name,
    show_number,
    show_percent,
    show_pieces,
    show_share,
)


def house(**overrides: str) -> Organisation:
    """An organisation that is not saved."""
    facts = {"currency": "USD", "zone": "America/New_York", "locale": "en_US"}
    return Organisation(name="Tidewater Hall", **(facts | overrides))


def render(source: str, **context: object) -> str:
    """Render a piece of template with the filters that every template has."""
    return Template(source).render(Context(context))


@pytest.mark.parametrize(
    ("currency", "locale", "minor", "text"),
    # Decimals by ISO 4217 (USD 2, JPY 0, KWD 3); patterns by Unicode CLDR, from memory.
    [
        pytest.param("USD", "en_US", 123450, "$1,234.50", id="two decimals"),
        pytest.param("USD", "en_US", -5, "-$0.05", id="below zero"),
        pytest.param("JPY", "en_US", 1200, "¥1,200", id="no decimals"),
        pytest.param("KWD", "en_US", 1234, "KWD\u00a01.234", id="three decimals"),
        pytest.param("EUR", "de_DE", 123450, "1.234,50\u00a0€", id="another locale"),
        pytest.param("USD", "en_US", 10**12, "$10,000,000,000.00", id="largest"),
    ],
)
def test_money(currency: str, locale: str, minor: int, text: str) -> None:
    assert show_money(minor, house(currency=currency, locale=locale)) == text


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("Sold on S-2026-0071 already.", ["S-2026-0071"]),
        ("7K3-Q9F-N rests until 2026-12-05, or 2026-12.", ["7K3-Q9F-N", "2026-12-05", "2026-12"]),
        ("A well-known half-dead colony, 3-4 weeks.", []),
    ],
)
def test_codes_and_days_are_kept_whole(text: str, kept: list[str]) -> None:
    drawn = render("{{ text|unbroken }}", text=text)
    assert drawn.count("<span") == len(kept)
    for part in kept:
        assert f'<span class="number">{part}</span>' in drawn
    assert "&lt;b&gt;" in render("{{ text|unbroken }}", text="<b>")


@pytest.mark.usefixtures("organisation")
def test_days_in_a_text_are_written_as_the_house_does() -> None:
    drawn = render("{{ text|told }}", text="<b> rests until 2026-12-01 of 7K3-Q9F-N")
    assert drawn.startswith("&lt;b&gt; rests until Dec 1, 2026 of ")
    assert '<span class="number">7K3-Q9F-N</span>' in drawn
    for kept in ("write it as in 2026-11-25", "until 2026-11-28 00:15", "no day 2026-02-30"):
        assert "202" in render("{{ text|told }}", text=kept)
        assert "Nov" not in render("{{ text|told }}", text=kept)


@pytest.mark.parametrize(
    ("locale", "text"),
    # CLDR's medium date patterns, from memory.
    [("en_US", "Nov 3, 2026"), ("en_GB", "3 Nov 2026"), ("de_DE", "03.11.2026")],
)
def test_day(locale: str, text: str) -> None:
    assert show_day(date(2026, 11, 3), house(locale=locale)) == text


@pytest.mark.parametrize(
    ("moment", "text"),
    # IANA time zones: New York left daylight saving time on 1 November 2026 at 06:00 UTC.
    [
        pytest.param(
            datetime(2026, 11, 1, 5, 30, tzinfo=UTC),
            "Nov 1, 2026, 1:30\u00a0AM",
            id="last summer hour",
        ),
        pytest.param(
            datetime(2026, 11, 1, 6, 30, tzinfo=UTC),
            "Nov 1, 2026, 1:30\u00a0AM",
            id="same hour again",
        ),
        pytest.param(
            datetime(2026, 11, 4, 2, 0, tzinfo=UTC),
            "Nov 3, 2026, 9:00\u00a0PM",
            id="the day before",
        ),
    ],
)
def test_moment(moment: datetime, text: str) -> None:
    assert show_moment(moment, house()) == text


def test_clock_runs_as_the_locale_does() -> None:
    moment = datetime(2026, 11, 3, 19, 5, tzinfo=UTC)
    assert show_clock(moment, house()) == "2:05\u00a0PM"
    assert show_clock(moment, house(locale="en_GB")) == "14:05"


def test_month() -> None:
    assert show_month(202611, house()) == "November 2026"


@pytest.mark.parametrize(
    ("rate", "text"),
    [
        ("0.0625", "6.25%"),
        ("0.1", "10%"),
        ("0.43215", "43.22%"),
        ("1.2", "120%"),
        ("0", "0%"),
        ("-0.05", "-5%"),
    ],
)
def test_percent_rounds_half_up(rate: str, text: str) -> None:
    assert show_percent(Decimal(rate), house()) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [("0.1236", "12.4%"), ("0.1235", "12.4%"), ("0.1234", "12.3%"), ("2", "200%"), ("0", "0%")],
)
def test_a_share_has_one_decimal_half_up(share: str, text: str) -> None:
    assert show_share(Decimal(share), house()) == text


def test_a_months_short_name_and_an_amount_without_minor_digits() -> None:
    assert show_month_name(202611, house()) == "Nov"
    assert show_money_whole(123_456_99, house()) == "$123,456"
    assert show_money_whole(500, house(currency="JPY")) == "¥500"


def test_numbers_and_pieces() -> None:
    assert show_number(12345, house()) == "12,345"
    assert [show_pieces(n, house()) for n in (0, 1, 12, 1200)] == [
        "0 pieces",
        "1 piece",
        "12 pieces",
        "1,200 pieces",
    ]


@pytest.mark.parametrize(
    ("source", "value", "text"),
    [
        ("{{ value|money }}", 4500, "$45.00"),
        ("{{ value|day }}", date(2026, 11, 3), "Nov 3, 2026"),
        ("{{ value|month }}", 202611, "November 2026"),
        (
            "{{ value|moment }}",
            datetime(2026, 11, 3, 19, 5, tzinfo=UTC),
            "Nov 3, 2026, 2:05\u00a0PM",
        ),
        ("{{ value|clock }}", datetime(2026, 11, 3, 19, 5, tzinfo=UTC), "2:05\u00a0PM"),
        ("{{ value|percent }}", Decimal("0.0625"), "6.25%"),
        ("{{ value|number }}", 1200, "1,200"),
        ("{{ value|pieces }}", 1, "1 piece"),
        ("{{ value|money }}", 0, "$0.00"),
        ("{{ value|money }}", None, "–"),
        ("{{ value|day }}", None, "–"),
        ("{{ missing|money }}", 1, "–"),
    ],
)
def test_filters_write_as_the_organisation_does(
    organisation: Organisation, source: str, value: object, text: str
) -> None:
    assert render(source, value=value) == text


def test_a_code_stands_in_three_groups() -> None:
    assert render("{{ code|code }}", code="7K3Q9F2") == "7K3-Q9F-2"


def test_an_icon_is_hidden_from_readers() -> None:
    drawn = render('{% icon "scissors" %}')
    assert drawn.startswith("<svg")
    assert 'aria-hidden="true"' in drawn
    assert 'class="icon"' in drawn


def test_each_form_gets_its_own_replay_key() -> None:
    first, second = (render("{% replay_key %}") for _ in range(2))
    assert first != second
    assert 'name="replay_key"' in first
    assert UUID(first.split('value="')[1].split('"')[0]).version == 4
