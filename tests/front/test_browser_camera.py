"""Reading labels with the phone's camera."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from pytest_django.live_server_helper import LiveServer

from fraginv.base.models import StoredFile
from fraginv.base.rules.codes import address
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag, FragEvent
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frags, make_rack
from tests.front.filming import film, filming

pytestmark = pytest.mark.browser
PATIENCE_MS = 20_000


def start(page: Page, path: str) -> None:
    """Open the page and start the camera."""
    sign_in(page, Role.GROWER)
    page.goto(path)
    page.get_by_role("button", name="Start the camera").click()


def test_a_rack_and_its_frags_are_read_from_a_film(
    browser: Browser, live_server: LiveServer, people: People, tmp_path: Path
) -> None:
    grower = people[Role.GROWER]
    rack, frags = make_rack(grower), make_frags(grower, 2)
    codes = [rack.code_id, frags[0].code_id, "", frags[1].code_id, ""]
    scenes = [(address("REEF.TEST", code) if code else "", 2.5 if code else 1) for code in codes]
    with filming(browser, film(tmp_path / "film.y4m", scenes), url=live_server.url) as page:
        start(page, "/scan?do=move")
        done = page.locator("[data-scan-done-list] li")
        expect(done).to_have_count(2, timeout=PATIENCE_MS)
        expect(page.locator("[data-scan-video]")).to_be_visible()
        assert_accessible(page)
        assert_fits(page)
        page.get_by_role("button", name="Stop the camera").click()
        expect(page.locator("[data-scan-video]")).to_be_hidden()
    assert Frag.objects.filter(rack=rack).count() == 2
    # Each was in view for seconds and read many times.
    assert FragEvent.objects.filter(kind="placed").count() == 2
    assert not StoredFile.objects.exists()


def test_a_camera_that_is_refused_says_so_and_leaves_typing(
    browser: Browser, live_server: LiveServer, people: People, tmp_path: Path
) -> None:
    frag = make_frags(people[Role.GROWER])[0]
    path = film(tmp_path / "film.y4m", [("", 1)])
    with filming(browser, path, url=live_server.url, allowed=False) as page:
        start(page, "/scan?do=seen")
        said = page.locator("[data-scan-camera-said]")
        expect(said).to_contain_text("The camera was refused. Allow it in the browser's settings")
        expect(said).to_contain_text("Type the code")
        assert_accessible(page)
        page.get_by_label("Code, or its last three").fill(frag.code_id)
        page.get_by_role("button", name="Seen, fine").click()
        expect(page.locator("[data-scan-said]")).to_contain_text("Seen, fine.")


def test_a_device_without_a_camera_says_so(
    browser: Browser, live_server: LiveServer, people: People
) -> None:
    with filming(browser, None, url=live_server.url) as page:
        start(page, "/scan")
        expect(page.locator("[data-scan-camera-said]")).to_contain_text("No camera was found.")
        expect(page.get_by_role("button", name="Start the camera")).to_be_visible()


# What a page reads of a browser that is old, or of an address without https.
OTHER_BROWSERS = {
    "Browsers give the camera to pages with an https address alone.": (
        "Object.defineProperty(window, 'isSecureContext', { get: () => false })"
    ),
    "This browser gives pages no camera.": (
        "Object.defineProperty(navigator, 'mediaDevices', { get: () => undefined })"
    ),
}


@pytest.mark.parametrize(("words", "script"), OTHER_BROWSERS.items(), ids=["http", "old"])
def test_a_page_that_may_have_no_camera_says_so_at_once(
    live_page: Page, people: People, words: str, script: str
) -> None:
    live_page.add_init_script(script)
    sign_in(live_page, Role.GROWER)
    live_page.goto("/scan")
    expect(live_page.locator("[data-scan-camera-said]")).to_contain_text(words)
    expect(live_page.get_by_role("button", name="Start the camera")).to_be_hidden()
    expect(live_page.get_by_label("Code, or its last three")).to_be_editable()


# A browser's own detector, which Chromium has on phones but not where tests run.
DETECTOR = """
window.BarcodeDetector = class {
  static getSupportedFormats() { return Promise.resolve(["ean_13", "qr_code"]); }
  constructor({ formats }) { window.detected = formats; }
  detect() { return Promise.resolve(window.inView ? [{ rawValue: window.inView }] : []); }
};
"""


def test_the_browsers_own_detector_reads_without_the_network(
    browser: Browser, live_server: LiveServer, people: People, tmp_path: Path
) -> None:
    frag = make_frags(people[Role.GROWER])[0]
    path = film(tmp_path / "film.y4m", [("", 1)])
    with filming(browser, path, url=live_server.url) as page:
        frames: list[str] = []
        page.on("request", lambda request: frames.append(request.url))
        page.add_init_script(DETECTOR)
        start(page, "/scan?do=seen")
        expect(page.locator("[data-scan-video]")).to_be_visible()
        page.context.set_offline(True)
        page.evaluate("text => { window.inView = text; }", address("REEF.TEST", frag.code_id))
        expect(page.locator("[data-scan-count]")).to_contain_text("1 scan waits")
        page.wait_for_timeout(1500)
        page.context.set_offline(False)
        expect(page.locator("[data-scan-done-list] li")).to_have_count(1, timeout=PATIENCE_MS)
        assert page.evaluate("window.detected") == ["qr_code"]
        assert not [url for url in frames if url.endswith("/scan/frame")]
    assert FragEvent.objects.filter(kind="inspected").count() == 1


def test_without_the_network_frames_are_not_read_and_the_page_says_so(
    browser: Browser, live_server: LiveServer, people: People, tmp_path: Path
) -> None:
    frag = make_frags(people[Role.GROWER])[0]
    path = film(tmp_path / "film.y4m", [(address("REEF.TEST", frag.code_id), 1)])
    with filming(browser, path, url=live_server.url) as page:
        sign_in(page, Role.GROWER)
        page.goto("/scan?do=seen")
        page.context.set_offline(True)
        page.get_by_role("button", name="Start the camera").click()
        said = page.locator("[data-scan-camera-said]")
        expect(said).to_contain_text("Without the network this browser cannot read by the camera")
        page.context.set_offline(False)
        expect(page.locator("[data-scan-done-list] li")).to_have_count(1, timeout=PATIENCE_MS)


def test_a_page_that_nobody_looks_at_lets_the_camera_go(
    browser: Browser, live_server: LiveServer, people: People, tmp_path: Path
) -> None:
    path = film(tmp_path / "film.y4m", [("", 1)])
    turn = """
      hidden => {
        Object.defineProperty(document, "hidden", { configurable: true, get: () => hidden });
        document.dispatchEvent(new Event("visibilitychange"));
      }
    """
    live = "document.querySelector('[data-scan-video]').srcObject?.active ?? false"
    with filming(browser, path, url=live_server.url) as page:
        start(page, "/scan")
        stop = page.get_by_role("button", name="Stop the camera")
        expect(stop).to_be_visible()
        assert page.evaluate(live) is True
        page.evaluate(turn, True)
        assert page.evaluate(live) is False
        page.evaluate(turn, False)
        expect(stop).to_be_visible()
        assert page.evaluate(live) is True
