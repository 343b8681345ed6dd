"""A real browser for tests: starting it, signing in, judging a page, taking pictures."""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Condition
from typing import Literal

from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe
from django.core.signals import request_finished, request_started
from django.db import connections
from playwright.sync_api import Browser, Error, Page, sync_playwright

from fraginv.base.rules.roles import Role

PASSWORD = "plug-water-lamp-9"
PHONE = (390, 844)
DESK = (1280, 900)
PROGRAMS = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# A page may go under axe so often, and has so long to come, before that is an error.
LEAVES = 2
ANSWER_SECONDS = 10
SETTLE_MS = 250
THEMES: tuple[Literal["light"], Literal["dark"]] = ("light", "dark")


@contextmanager
def launched() -> Iterator[Browser]:
    """Run Chromium without a window.

    While Playwright is open its loop counts as running in this thread, though
    nothing here is asynchronous. Django would then refuse the test's own
    queries and keep a second set of connections, blind to what the first one
    has not committed; so it is told that queries are safe, and both sets hold
    the same connections.

    Raises: RuntimeError where no Chromium is installed.
    """
    program = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if program is None:
        raise RuntimeError("Browser tests need Chromium: run `.ci/setup test`.")
    shared = {alias: connections[alias] for alias in connections}
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    try:
        with sync_playwright() as playwright:
            for alias, connection in shared.items():
                connections[alias] = connection
            browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
            yield browser
            browser.close()
    finally:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


def sign_in(page: Page, role: Role) -> None:
    """Sign in by the form, as the person whom the fixture ``people`` made for the role."""
    page.goto("/sign-in")
    page.locator("input[name=username]").fill(role.value)
    page.locator("input[name=password]").fill(PASSWORD)
    page.locator("main form button[type=submit], form button[type=submit]").first.click()
    page.wait_for_url(re.compile(r"^(?!.*/sign-in).*$"))


@contextmanager
def requests_counted() -> Iterator[Callable[[], None]]:
    """Count the requests that are being answered in this process.

    Yields: what waits until all are, at most ten seconds.
    """
    under_way, changed = [0], Condition()

    def count(by: int) -> None:
        with changed:
            under_way[0] += by
            changed.notify_all()

    def begun(**_: object) -> None:
        count(1)

    def ended(**_: object) -> None:
        count(-1)

    def wait() -> None:
        with changed:
            changed.wait_for(lambda: under_way[0] <= 0, timeout=ANSWER_SECONDS)

    request_started.connect(begun)
    request_finished.connect(ended)
    try:
        yield wait
    finally:
        request_started.disconnect(begun)
        request_finished.disconnect(ended)


def assert_accessible(page: Page) -> None:
    """Fail with what breaks WCAG 2.2, levels A and AA, on the page as it stands."""
    # Without preloading: it would write the page's styles into the page again, which the
    # page's own policy forbids, and no rule of these tags looks at them.
    asked = {"runOnly": {"type": "tag", "values": WCAG}, "preload": False}
    broken = [
        f"{rule['id']}: {rule['help']}\n"
        + "\n".join(f"    {node['html'][:200]}" for node in rule["nodes"])
        for rule in read_by_axe(page, options=asked).response["violations"]
    ]
    assert not broken, f"{page.url} is not accessible:\n" + "\n".join(broken)


def read_by_axe(page: Page, *, options: dict[str, object]) -> AxeResults:
    """Return what axe finds on a page.

    A page that a link has just been tapped on may go while axe reads it, and takes axe with
    it; then the one that came is read.
    """
    for _ in range(LEAVES):
        page.wait_for_load_state()
        try:
            return Axe().run(page, options=options)
        except Error:
            page.wait_for_timeout(SETTLE_MS)
    return Axe().run(page, options=options)


def assert_fits(page: Page) -> None:
    """Fail if the page is wider than its window, so that it would scroll sideways."""
    wide = page.evaluate("document.documentElement.scrollWidth")
    room = page.evaluate("document.documentElement.clientWidth")
    assert wide <= room, f"{page.url} is {wide} px wide in a window of {room} px"


def shoot(page: Page, name: str, *, folder: Path) -> list[Path]:
    """Picture the page as it stands at both widths, light and dark."""
    taken = []
    for width, height in (PHONE, DESK):
        page.set_viewport_size({"width": width, "height": height})
        for theme in THEMES:
            page.emulate_media(color_scheme=theme, reduced_motion="reduce")
            file = folder / f"{name}-{width}-{theme}.png"
            page.screenshot(path=file, full_page=True)
            taken.append(file)
    return taken
