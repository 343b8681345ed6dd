"""The month's pages through the browser's door, and in a real browser."""

from collections.abc import Callable, Iterator

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect
from pytest_django import DjangoAssertNumQueries

from fraginv.base.queries.organisation import today
from fraginv.base.rules.days import month_of, show_month
from fraginv.base.rules.roles import Right, Role, can
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.reports.rows import Story, bill, november
from tests.trade.rows import Shop, open_shop

ClientFor = Callable[[Role | None], Client]
NAMES = ("month", "month_pdf", "month_csv", "month_xlsx")
PAGE = reverse("reports:month", args=["2026-11"])


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with november():
        made = open_shop(people)
        made.sell(made.priced_lot(30, price=1_000), 8)
        bill(made, 64_500)
        yield made


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize("name", NAMES)
def test_who_sees_money_sees_the_month(
    shop: Shop, client_for: ClientFor, role: Role, name: str
) -> None:
    response = client_for(role).get(reverse(f"reports:{name}", args=["2026-11"]))
    assert response.status_code == (200 if can(role, Right.SEE_MONEY) else 403)


def test_nobody_sees_it_from_outside(shop: Shop, client_for: ClientFor) -> None:
    for name in NAMES:
        response = client_for(None).get(reverse(f"reports:{name}", args=["2026-11"]))
        assert "sign-in" in response.headers["Location"]


def test_the_page_says_the_share_and_what_it_is_made_of(shop: Shop, client_for: ClientFor) -> None:
    text = client_for(Role.READER).get(PAGE).content.decode()
    for words in (
        "The frags carried 12.4% of the display&#x27;s running costs.",
        "This month is not over.",
        "$80.00",
        "$645.00",
        "-$565.00",
        "Electricity",
        "22 pieces",
        "Sales basis:",
    ):
        assert words.replace("&#x27;", "'") in text.replace("&#x27;", "'")
    assert reverse("reports:month", args=["2026-10"]) in text
    assert "</span>October 2026</a>" in text
    assert reverse("reports:month", args=["2026-12"]) not in text


def test_the_other_basis_is_kept_from_month_to_month(shop: Shop, client_for: ClientFor) -> None:
    text = client_for(Role.MANAGER).get(PAGE, {"basis": "cash"}).content.decode()
    assert "Cash basis:" in text
    assert f"{reverse('reports:month', args=['2026-10'])}?basis=cash" in text
    assert f"{reverse('reports:month_pdf', args=['2026-11'])}?basis=cash" in text


def test_an_empty_month_says_what_to_do(shop: Shop, client_for: ClientFor) -> None:
    text = client_for(Role.MANAGER).get(reverse("reports:month", args=["2026-03"])).content.decode()
    assert "Nothing stands in this month." in text
    assert reverse("costs:bills") in text


def test_without_an_asked_month_the_present_one_opens(shop: Shop, client_for: ClientFor) -> None:
    response = client_for(Role.MANAGER).get(reverse("reports:latest"))
    assert response.headers["Location"] == PAGE


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("month", ["2026-13", "2026-12", "soon", "0001-01x"])
def test_a_month_that_is_none_is_refused_in_words(
    shop: Shop, client_for: ClientFor, name: str, month: str
) -> None:
    response = client_for(Role.MANAGER).get(reverse(f"reports:{name}", args=[month]))
    assert response.status_code == 400
    assert "month" in response.content.decode()


def test_the_calendars_first_months_have_no_trend_and_say_so(
    shop: Shop, client_for: ClientFor
) -> None:
    response = client_for(Role.MANAGER).get(reverse("reports:month", args=["0001-03"]))
    assert response.status_code == 400
    assert "calendar" in response.content.decode()


def test_a_strange_basis_is_refused(shop: Shop, client_for: ClientFor) -> None:
    response = client_for(Role.MANAGER).get(PAGE, {"basis": "accrual"})
    assert response.status_code == 400
    assert "no basis of a month" in response.content.decode()


def test_files_have_their_types_and_names(shop: Shop, client_for: ClientFor) -> None:
    client = client_for(Role.MANAGER)
    for ending, kind in (
        ("pdf", "application/pdf"),
        ("csv", "text/csv; charset=utf-8"),
        ("xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    ):
        response = client.get(reverse(f"reports:month_{ending}", args=["2026-11"]))
        assert response.headers["Content-Type"] == kind
        assert f'filename="month-2026-11.{ending}"' in response.headers["Content-Disposition"]
        assert "no-store" in response.headers["Cache-Control"]


def test_ten_times_the_papers_take_no_more_statements(
    shop: Shop, client_for: ClientFor, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client, story = client_for(Role.MANAGER), Story(shop, seed=3)
    for steps in (1, 10):
        story.live(202610, steps=steps)
        # Session, person and organisation; the month's ten; the trend's three.
        with django_assert_max_num_queries(16):
            assert client.get(reverse("reports:month", args=["2026-10"])).status_code == 200


@pytest.mark.browser
def test_the_month_on_a_phone(people: People, live_page: Page) -> None:
    shop = open_shop(people)
    shop.sell(shop.priced_lot(30, price=1_000), 8)
    bill(shop, 64_500, day=today())
    month = show_month(month_of(today()))
    sign_in(live_page, Role.MANAGER)
    live_page.goto(reverse("reports:latest"))
    assert live_page.url.endswith(f"/reports/{month}")
    heading = live_page.get_by_role("heading", name="The frags carried 12.4%")
    expect(heading).to_be_visible()
    live_page.get_by_text("The same in figures").click()
    for theme in ("light", "dark"):
        live_page.emulate_media(color_scheme=theme)
        assert_fits(live_page)
        assert_accessible(live_page)
    live_page.get_by_role("link", name="As paid").click()
    expect(live_page.get_by_text("Cash basis:")).to_be_visible()
    live_page.locator("a[rel=prev]").click()
    expect(live_page.get_by_text("Nothing stands in this month.")).to_be_visible()
    assert_fits(live_page)
    assert_accessible(live_page)
