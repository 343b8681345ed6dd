"""Every script is a module that a real browser takes."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route

from tests.house.tree import STATIC, assert_none

SITE = "http://scripts.test"
TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
PLANTED = {
    "/static/broken.js": "export function (",
    "/static/strange.js": "import { gone } from './whole.js';",
    "/static/fallen.js": "noSuchName();",
    "/static/whole.js": "export const here = 1;",
}
LOAD = "path => import(path).then(() => '', error => String(error))"


def answer(route: Route) -> None:
    """Serve the static folder, the planted modules and an empty page, without a server."""
    path = route.request.url.removeprefix(SITE)
    file = STATIC / path.removeprefix("/static/")
    if path in PLANTED:
        route.fulfill(body=PLANTED[path], content_type=TYPES[".js"])
    elif path.startswith("/static/") and file.is_file():
        route.fulfill(body=file.read_bytes(), content_type=TYPES.get(file.suffix, "text/plain"))
    elif path == "/":
        route.fulfill(body="<!doctype html><title>Scripts</title>", content_type="text/html")
    else:
        route.fulfill(status=404, body="")


@pytest.fixture
def empty_page(browser: Browser) -> Iterator[Page]:
    """An empty page beside the static files."""
    page = browser.new_page()
    page.route("**/*", answer)
    page.goto(f"{SITE}/")
    yield page
    page.close()


def complaint(page: Page, path: str) -> str:
    """Import a module; return what the browser says against it."""
    return str(page.evaluate(LOAD, path))


def modules() -> list[Path]:
    """List the scripts of the project."""
    return sorted(STATIC.rglob("*.js"))


def test_every_script_loads(empty_page: Page) -> None:
    files = modules()
    assert files
    found = []
    for file in files:
        path = f"/static/{file.relative_to(STATIC).as_posix()}"
        if text := complaint(empty_page, path):
            found.append(f"{path}: {text}")
    assert_none(found)


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("/static/broken.js", "SyntaxError"),
        ("/static/strange.js", "SyntaxError"),
        ("/static/fallen.js", "ReferenceError"),
        ("/static/missing.js", "TypeError"),
    ],
)
def test_a_planted_broken_script_is_found(empty_page: Page, path: str, text: str) -> None:
    assert complaint(empty_page, "/static/whole.js") == ""
    assert complaint(empty_page, path).startswith(text)
