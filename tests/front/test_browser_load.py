"""A manager brings in a table on a phone, and sees it before it is written."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag, Variety
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_rack, make_variety

pytestmark = pytest.mark.browser

BAD = "name,genus,note\nHarbour Lantern,Acropra,\nHarbour Lantern,Acropora,\n"
GOOD = "name,genus,note\nHarbour Lantern,Acropora,shy\nPier Moss,Zoanthus,\n"
FRAGS = "variety,old_code,rack,row,column,stage,size\n" + "".join(
    f"Pier Moss,PM {number},rack 1,1,{number},ready,M\n" for number in range(1, 6)
)


def judge(page: Page) -> None:
    """Fail for what a reader of screens or a narrow phone would stumble over."""
    assert_accessible(page)
    assert_fits(page)


def send(page: Page, folder: Path, name: str, text: str) -> None:
    """Choose a file and have it looked at."""
    file = folder / name
    file.write_text(text, encoding="utf-8")
    page.get_by_label("Your table").set_input_files(file)
    page.get_by_role("button", name="Look at the table").click()
    page.wait_for_url(re.compile(r"/load/waiting/\d+$"))


def test_varieties_are_seen_mended_and_brought_in(
    live_page: Page, people: People, tmp_path: Path
) -> None:
    page = live_page
    sign_in(page, Role.MANAGER)
    page.goto("/load")
    expect(page.get_by_text("Nothing was brought in yet")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="Varieties", exact=True).click()
    page.get_by_text("What stands in its columns").click()
    expect(page.get_by_text("text of at most 80 characters")).to_be_visible()
    judge(page)
    with page.expect_download() as download:
        page.get_by_role("link", name="As CSV").click()
    assert Path(download.value.path()).read_text(encoding="utf-8").startswith("name,genus,species")

    send(page, tmp_path, "varieties.csv", BAD)
    expect(page.get_by_role("heading", name="2 things to mend")).to_be_visible()
    expect(page.get_by_text("Line 2, genus")).to_be_visible()
    expect(page.get_by_text("Line 3, name")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="Send the mended table").click()

    send(page, tmp_path, "mended.csv", GOOD)
    expect(page.get_by_role("cell", name="Zoanthus")).to_be_visible()
    judge(page)
    assert not Variety.objects.exists()
    page.get_by_role("button", name="Bring in 2 rows").click()
    page.wait_for_url(re.compile(r"/load/done/\d+$"))
    expect(page.get_by_role("heading", name="2 rows of varieties brought in")).to_be_visible()
    judge(page)
    assert Variety.objects.count() == 2

    page.goto("/load/varieties")
    send(page, tmp_path, "mended.csv", GOOD)
    page.get_by_role("button", name="Throw this table away").click()
    page.wait_for_url(re.compile(r"/load$"))
    expect(page.locator(".messages")).to_contain_text("mended.csv is thrown away")
    expect(page.get_by_text("varieties.csv")).to_be_visible()
    judge(page)


def test_frags_come_in_with_their_codes(live_page: Page, people: People, tmp_path: Path) -> None:
    make_variety(people[Role.MANAGER], name="Pier Moss", genus="Zoanthus")
    make_rack(people[Role.MANAGER])
    page = live_page
    sign_in(page, Role.MANAGER)
    page.goto("/load/frags")
    page.get_by_text("Day first, as in").click()
    send(page, tmp_path, "frags.csv", FRAGS)
    expect(page.get_by_text("Living pieces: 5.")).to_be_visible()
    page.get_by_role("button", name="Bring in 5 rows").click()
    page.wait_for_url(re.compile(r"/load/done/\d+$"))
    expect(page.get_by_text("line 2, before PM 1")).to_be_visible()
    judge(page)
    with page.expect_download() as download:
        page.get_by_role("link", name="All codes as CSV").click()
    lines = Path(download.value.path()).read_text(encoding="utf-8").splitlines()
    assert lines[0] == "line,code,old_code"
    assert len(lines) == 6
    page.get_by_role("link", name="Print their labels").click()
    expect(page.get_by_text(Frag.objects.earliest("pk").code.code[:3]).first).to_be_attached()
    page.go_back()
    page.locator("main .list__link").first.click()
    expect(page).to_have_url(re.compile(rf"/T/{Frag.objects.earliest('pk').code_id}$"))
