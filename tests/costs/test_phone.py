"""Entering and paying a bill in a real browser, at the width of a phone."""

import re

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.roles import Role
from fraginv.costs.models import Bill
from fraginv.costs.queries import cost_differences
from tests.browsing import assert_accessible, assert_fits, sign_in

pytestmark = pytest.mark.browser


def test_a_bill_from_the_empty_month_to_its_entry(live_page: Page) -> None:
    page = live_page
    sign_in(page, Role.MANAGER)
    page.goto("/costs/")
    assert_fits(page)
    page.get_by_role("link", name="Enter a bill").last.click()
    page.get_by_label("Kind of cost").fill("Electricity")
    page.get_by_label("Amount").fill("1,250.00")
    page.get_by_label("Supplier").fill("Harbour Power")
    page.get_by_label("Both").check()
    page.get_by_label("Still owed").check()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_role("button", name="Enter the bill").click()
    expect(page.get_by_role("alert")).to_contain_text("write it without separators: 1250.00")
    expect(page.get_by_label("Supplier")).to_have_value("Harbour Power")
    page.get_by_label("Amount").fill("1250.00")
    page.get_by_role("button", name="Enter the bill").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"Bill B-\d{4}-0001"))
    expect(page.get_by_text("still owed")).to_be_visible()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_role("link", name="Pay it").click()
    page.get_by_label("Cash").check()
    page.get_by_role("button", name="Write down the payment").click()
    expect(page.get_by_text("is paid")).to_be_visible()
    page.get_by_role("link", name="Entry", exact=False).first.click()
    expect(page.get_by_role("cell", name="$625.00")).to_have_count(2)
    assert_accessible(page)
    assert_fits(page)
    paid = Bill.objects.get()
    assert (paid.amount, paid.settled, paid.paid_by) == (125_000, "paid", "cash")
    assert list(cost_differences()) == []


def test_month_and_journal_fit_a_phone(live_page: Page) -> None:
    page = live_page
    sign_in(page, Role.MANAGER)
    for kind, amount in (("Electricity", "812.40"), ("Salt", "96.00")):
        page.goto("/costs/add")
        page.get_by_label("Kind of cost").fill(kind)
        page.get_by_label("Amount").fill(amount)
        page.get_by_role("button", name="Enter the bill").click()
        expect(page.get_by_text("entered.")).to_be_visible()
    for path, text in (("/costs/", "$908.40"), ("/ledger/", "6001 Electricity")):
        page.goto(path)
        expect(page.get_by_text(text).first).to_be_visible()
        assert_accessible(page)
        assert_fits(page)
