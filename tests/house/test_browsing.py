"""The judgements of pages are shown to fail where they should."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection
from playwright.sync_api import Browser, Page

from fraginv.base.models import Organisation
from fraginv.base.rules.roles import Role
from tests.browsing import PHONE, assert_accessible, assert_fits, shoot, sign_in

GOOD = """<!doctype html><html lang="en"><title>Frags</title>
<main><h1>Frags</h1><label>Pieces <input name="pieces"></label></main></html>"""
DARK = "@media (prefers-color-scheme: dark) { * { background: #000 } }"
PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page at the width of a phone, with no server behind it."""
    page = browser.new_page(viewport={"width": PHONE[0], "height": PHONE[1]})
    page.set_content(GOOD)
    yield page
    page.close()


def test_a_browser_started_in_a_test_leaves_its_rows_in_sight(
    organisation: Organisation, request: pytest.FixtureRequest
) -> None:
    request.getfixturevalue("browser")
    assert Organisation.objects.get() == organisation
    assert connection.in_atomic_block


@pytest.mark.parametrize(
    ("planted", "rule"),
    [
        pytest.param("<img src='data:,'>", "image-alt", id="picture without words"),
        pytest.param("<input name='code'>", "label", id="field without label"),
        pytest.param("<p style='color:#bbb;background:#fff'>pale</p>", "color-contrast", id="pale"),
        pytest.param(
            "<button style='all:unset;display:block;width:9px;height:9px'>x</button>" * 2,
            "target-size",
            id="small target",
        ),
    ],
)
def test_a_planted_barrier_is_found(page: Page, planted: str, rule: str) -> None:
    assert_accessible(page)
    page.set_content(GOOD.replace("</main>", f"{planted}</main>"))
    with pytest.raises(AssertionError, match=rule):
        assert_accessible(page)


def test_a_planted_wide_page_is_found(page: Page) -> None:
    assert_fits(page)
    page.set_content(GOOD.replace("<main>", "<main style='width:600px'>"))
    with pytest.raises(AssertionError, match="is 6"):
        assert_fits(page)


def test_pictures_show_both_widths_and_themes(page: Page, tmp_path: Path) -> None:
    page.set_content(
        GOOD.replace(
            "<main>", "<style>@media (prefers-color-scheme:dark){*{background:#000}}</style><main>"
        )
    )
    files = shoot(page, "frags", folder=tmp_path)
    assert [file.name for file in files] == [
        f"frags-{width}-{theme}.png" for width in (390, 1280) for theme in ("light", "dark")
    ]
    pictures = [file.read_bytes() for file in files]
    assert all(picture.startswith(PNG) for picture in pictures)
    assert len(set(pictures)) == 4


def test_a_person_signs_in_by_the_form(live_page: Page, desk_page: Page) -> None:
    for page in (live_page, desk_page):
        page.goto("/sign-in")
        assert_accessible(page)
        assert_fits(page)
        sign_in(page, Role.GROWER)
        assert_accessible(page)
        assert_fits(page)
