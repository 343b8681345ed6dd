"""Draw README's pictures of the screens from a demo: ``python -m tests.screens``."""

import json
import os
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import Literal
from urllib.request import urlopen

from playwright.sync_api import Browser, Page

from tests.browsing import DESK, PHONE, launched

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "fixtures" / "screens"
PORT = 8137
START_SECONDS = 30

Theme = Literal["light", "dark"]


def main() -> None:
    """Build a demo in a folder of its own, serve it, and take the pictures."""
    with tempfile.TemporaryDirectory() as home:
        os.environ |= {"FRAGINV_HOME": home, "DJANGO_SETTINGS_MODULE": "fraginv.settings"}
        os.environ.pop("DATABASE_URL", None)
        command = [sys.executable, str(ROOT / "manage.py"), "demo", f"--port={PORT}", "--json"]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        try:
            draw(wait_for(server))
        finally:
            server.terminate()
            server.wait()


def wait_for(server: "subprocess.Popen[str]") -> str:
    """Return the demo's address once it answers."""
    assert server.stdout is not None
    lines = []
    for line in server.stdout:
        lines.append(line)
        if line.startswith("}"):
            break
    url = str(json.loads("".join(lines))["url"])
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until:
        with suppress(OSError), urlopen(f"{url}sign-in"):  # loopback, our own server
            return url
        time.sleep(0.1)
    raise AssertionError(f"{url} does not answer.")


def draw(url: str) -> None:
    """Take each picture as the person whose page it is."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with launched() as browser:
        seller = signed_in(browser, "jonah", url=url, size=PHONE, theme="light")
        seller.goto("/frags?stage=ready")
        seller.locator(".list__link").first.click()
        keep(seller, "frag")
        code = seller.url.rpartition("/")[2]
        seller.goto(f"/trade/sell?codes={code}")
        keep(seller, "sell")
        manager = signed_in(browser, "tobias", url=url, size=PHONE, theme="light")
        manager.goto("/reports/")
        keep(manager, "month")
        keep(signed_in(browser, "maren", url=url, size=DESK, theme="dark"), "today")


def signed_in(
    browser: Browser, username: str, *, url: str, size: tuple[int, int], theme: Theme
) -> Page:
    """Sign in by one tap."""
    context = browser.new_context(
        base_url=url, viewport={"width": size[0], "height": size[1]}, color_scheme=theme
    )
    page = context.new_page()
    page.goto("/sign-in")
    page.locator(f"form:has(input[name=demo][value={username}]) button").click()
    return page


def keep(page: Page, name: str) -> None:
    """Keep a picture of what the page shows first."""
    page.screenshot(path=FOLDER / f"{name}.jpg", type="jpeg", quality=82)


if __name__ == "__main__":
    main()
