"""Photos coming in on a phone: many at once, states, the tray, a lost network, no scripts."""

import json
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, FilePayload, Page, Route, expect
from pytest_django.live_server_helper import LiveServer

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.intake import work_off
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.growth.queries.intake import waiting_pictures
from fraginv.stock.models import Frag
from tests.browsing import PHONE, assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frag, make_rack
from tests.growth.labelled import labelled

pytestmark = pytest.mark.browser
KEY = "scanned lately"


@pytest.fixture
def grower(people: People) -> Person:
    return people[Role.GROWER]


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


@pytest.fixture
def phone(live_page: Page, frag: Frag) -> Page:
    sign_in(live_page, Role.GROWER)
    return live_page


@pytest.fixture
def plain_page(browser: Browser, live_server: LiveServer, people: People) -> Iterator[Page]:
    """A phone whose browser runs no scripts."""
    width, height = PHONE
    context = browser.new_context(
        base_url=live_server.url,
        viewport={"width": width, "height": height},
        java_script_enabled=False,
    )
    yield context.new_page()
    context.close()


def picture(name: str, data: bytes) -> FilePayload:
    return {"name": name, "mimeType": "image/jpeg", "buffer": data}


def choose(page: Page, *files: FilePayload, of: str = "Choose pictures") -> None:
    """Choose pictures, as from the gallery."""
    page.get_by_label(of).set_input_files(list(files))


def work_all() -> None:
    """Do what the worker would."""
    for row in waiting_pictures():
        work_off(row.pk)


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def sent(page: Page, count: int) -> None:
    expect(page.locator("[data-shots-said]")).to_have_text(f"All sent: {count}")


def test_three_are_chosen_one_is_broken_and_one_is_filed_in_two_taps(
    phone: Page, frag: Frag
) -> None:
    phone.goto("/photos")
    judge(phone)
    choose(
        phone,
        picture("labelled.jpg", labelled(frag.code_id)),
        picture("broken.jpg", b"%PDF-1.7 and more"),
        picture("strange.jpg", labelled(seed=1)),
    )
    sent(phone, 3)
    expect(phone.locator("[data-shots-live]")).to_contain_text("Waiting to be read")
    work_all()
    live = phone.locator("[data-shots-live]")
    expect(live).to_contain_text("Filed under")
    expect(live).to_contain_text("No label can be read in it")
    expect(live).to_contain_text("The file is a PDF")
    expect(live).not_to_contain_text("Waiting to be read")
    judge(phone)
    phone.get_by_role("link", name="What became of them").click()
    phone.wait_for_url(re.compile("/photos/sent/"))
    judge(phone)
    phone.get_by_role("link", name="File those in the tray").click()
    phone.wait_for_url(re.compile("/photos/tray$"))
    judge(phone)
    # From here two taps: the picture, and what it shows.
    phone.get_by_role("link", name="strange.jpg").click()
    phone.wait_for_url(re.compile(r"/photos/tray/\d+$"))
    judge(phone)
    phone.get_by_role("button", name=re.compile("in hand|taken|scanned")).first.click()
    phone.wait_for_url(re.compile("/photos/tray$"))
    expect(phone.get_by_text("The tray is empty")).to_be_visible()
    assert Photo.objects.filter(frag=frag).count() == 2


def test_what_is_taken_while_the_network_is_away_goes_when_it_is_back(
    phone: Page, frag: Frag
) -> None:
    phone.goto("/photos")
    choose(phone, picture("first.jpg", labelled(frag.code_id)))
    sent(phone, 1)
    phone.context.set_offline(True)
    choose(
        phone,
        picture("second.jpg", labelled(seed=2)),
        picture("third.jpg", labelled(seed=3)),
        picture("fourth.jpg", labelled(seed=4)),
    )
    said = phone.locator("[data-shots-said]")
    expect(said).to_contain_text("1 of 4 sent. No network")
    expect(phone.get_by_role("button", name="Try again now")).to_be_visible()
    judge(phone)
    assert Incoming.objects.count() == 1
    phone.context.set_offline(False)
    sent(phone, 4)
    assert sorted(Incoming.objects.values_list("name", flat=True)) == [
        "first.jpg",
        "fourth.jpg",
        "second.jpg",
        "third.jpg",
    ]
    assert Batch.objects.count() == 1


def test_where_no_room_is_left_the_page_says_so_and_waits(phone: Page) -> None:
    phone.goto("/photos")
    full = {"ok": False, "code": "too_many", "message": "2,000 pictures wait to be read already."}
    phone.route("**/photos/send", lambda route: route.fulfill(status=429, json=full))
    choose(phone, picture("first.jpg", labelled()))
    said = phone.locator("[data-shots-said]")
    expect(said).to_contain_text("0 of 1 sent. 2,000 pictures wait to be read already.")
    expect(said).not_to_contain_text("No network")
    phone.unroute("**/photos/send")
    phone.get_by_role("button", name="Try again now").click()
    sent(phone, 1)


def test_who_leaves_before_all_are_sent_is_told_how_many_came(phone: Page) -> None:
    phone.goto("/photos")
    left = phone.locator("[data-shots-left]")
    expect(left).to_be_hidden()
    choose(phone, picture("first.jpg", labelled()))
    sent(phone, 1)
    phone.route("**/photos/send", lambda route: route.abort())
    more = [picture(f"{seed}.jpg", labelled(seed=seed)) for seed in (1, 2)]
    choose(phone, *more)
    expect(phone.locator("[data-shots-said]")).to_contain_text("1 of 3 sent")
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.reload()
    expect(left).to_contain_text("1 of 3 pictures had arrived when the page")
    expect(left).to_contain_text("what is here already is not filed twice")
    judge(phone)
    left.get_by_role("link", name="What came in").click()
    phone.wait_for_url(re.compile("/photos/sent/"))
    expect(left).to_contain_text("1 of 3 pictures")
    judge(phone)
    phone.unroute("**/photos/send")
    phone.goto("/photos")
    choose(phone, *more)
    sent(phone, 2)
    expect(left).to_be_hidden()
    phone.reload()
    expect(left).to_be_hidden()


def test_an_answer_that_was_lost_makes_no_second_picture(phone: Page) -> None:
    phone.goto("/photos")
    lost: list[str] = []

    def lose(route: Route) -> None:
        if lost:
            route.continue_()
            return
        lost.append("once")
        route.fetch()
        route.abort()

    phone.route("**/photos/send", lose)
    choose(phone, picture("a.jpg", labelled()))
    sent(phone, 1)
    assert lost
    assert Incoming.objects.count() == 1


def test_what_is_too_large_is_refused_before_it_is_sent(phone: Page) -> None:
    phone.goto("/photos")
    choose(phone, picture("video.jpg", b"0" * (25 * 1024 * 1024 + 1)), picture("a.jpg", labelled()))
    expect(phone.get_by_text("Refused: It has more than 25 MB")).to_be_visible()
    expect(phone.locator("[data-shots-said]")).to_have_text("All sent: 1, 1 left out")
    judge(phone)
    assert Incoming.objects.get().name == "a.jpg"


def test_who_was_signed_out_meanwhile_is_told(phone: Page) -> None:
    phone.goto("/photos")
    phone.context.clear_cookies()
    choose(phone, picture("a.jpg", labelled()))
    expect(phone.locator("[data-shots-said]")).to_contain_text("Sign in again")
    assert not Incoming.objects.exists()


def test_the_camera_sends_at_once(phone: Page, frag: Frag) -> None:
    phone.goto("/photos")
    choose(phone, picture("a.jpg", labelled(frag.code_id)), of="Take a picture")
    sent(phone, 1)
    work_all()
    expect(phone.locator("[data-shots-live]")).to_contain_text("Filed under")


def test_from_a_rack(phone: Page, grower: Person, frag: Frag) -> None:
    rack = make_rack(grower)
    phone.goto(f"/T/{rack.code_id}")
    judge(phone)
    phone.get_by_role("link", name="Photograph it").click()
    phone.wait_for_url(re.compile("/photos"))
    choose(phone, picture("a.jpg", labelled()))
    sent(phone, 1)
    assert Batch.objects.get().rack == rack


def test_without_scripts_they_go_together(plain_page: Page, frag: Frag) -> None:
    page = plain_page
    sign_in(page, Role.GROWER)
    page.goto("/photos")
    choose(
        page,
        picture("a.jpg", labelled(frag.code_id)),
        picture("b.jpg", labelled(seed=1)),
    )
    page.get_by_role("button", name="Send").click()
    page.wait_for_url(re.compile("/photos/sent/"))
    expect(page.get_by_text("2 pictures, 2 waiting")).to_be_visible()
    work_all()
    page.get_by_role("link", name="Look again").click()
    expect(page.get_by_text("2 pictures, 1 filed, 1 in the tray")).to_be_visible()
    page.get_by_role("link", name="In the tray", exact=True).click()
    page.get_by_label("Code, or its last three characters").fill(frag.code_id[-3:])
    page.get_by_role("button", name="File it").click()
    expect(page.get_by_text("The tray is empty")).to_be_visible()
    assert Photo.objects.filter(frag=frag).count() == 2


def kept(page: Page) -> list[list[str]]:
    """Return what the browser keeps of scans made lately."""
    scans: list[list[str]] = json.loads(
        page.evaluate("key => localStorage.getItem(key) ?? '[]'", KEY)
    )
    return scans


def test_codes_scanned_lately_come_along_and_are_forgotten_at_signing_out(
    phone: Page, grower: Person, frag: Frag
) -> None:
    other = make_frag(grower)
    phone.goto(f"/T/{frag.code_id}")
    phone.goto("/scan")
    phone.get_by_label("Code, or its last three characters").fill(other.code_id)
    phone.get_by_role("button", name="Look it up").click()
    expect(phone.locator("[data-scan-done-list]")).to_contain_text(other.variety.name)
    assert [code for code, _ in kept(phone)] == [frag.code_id, other.code_id]
    phone.goto("/photos")
    choose(phone, picture("a.jpg", labelled()))
    sent(phone, 1)
    assert [code for code, _ in Batch.objects.get().scanned] == [frag.code_id, other.code_id]
    sign_out(phone)
    assert kept(phone) == []


def sign_out(page: Page) -> None:
    page.goto("/")
    form = page.locator("form[data-leaves]").first
    form.evaluate("form => form.requestSubmit()")
    page.wait_for_url(re.compile("sign-in"))


def test_fifty_are_kept_the_latest(phone: Page) -> None:
    phone.goto("/photos")
    many = [[f"{number:06}0", "2026-11-25T12:00:00Z"] for number in range(80)]
    phone.evaluate("([key, many]) => localStorage.setItem(key, JSON.stringify(many))", [KEY, many])
    all_kept = "async path => (await import(path)).all().length"
    assert phone.evaluate(all_kept, "/static/js/photos/scanned.js") == 50
