"""Templates and scripts keep what the Content Security Policy asks of them."""

import re
from collections.abc import Iterator

from django.conf import settings

from tests.house.tree import STATIC, TEMPLATES, assert_none, relative, templates

INLINE = {
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "a style attribute": re.compile(r"""[\s"']style\s*=""", re.IGNORECASE),
    "a script within the page": re.compile(r"<script\b(?![^>]*\bsrc=)", re.IGNORECASE),
    "a handler within the page": re.compile(r"""[\s"']on[a-z]{3,}\s*=""", re.IGNORECASE),
    "a handler for htmx": re.compile(r"\bhx-on\b|\bjs:", re.IGNORECASE),
    "a script as an address": re.compile(r"javascript:", re.IGNORECASE),
    "a frame": re.compile(r"<(iframe|frame|object|embed|base)\b", re.IGNORECASE),
    "something from elsewhere": re.compile(r"""(src|srcset|action)\s*=\s*["']\s*(https?:)?//"""),
    "text that is not escaped": re.compile(r"\|\s*safe\b|autoescape\s+off|\bmark_safe\b"),
}
WRITING = {
    "markup from text": re.compile(r"\b(innerHTML|outerHTML|insertAdjacentHTML|document\.write)\b"),
    "code from text": re.compile(r"\beval\(|new Function\(|set(Timeout|Interval)\(\s*[\"'`]"),
    "a style attribute": re.compile(r"setAttribute\(\s*[\"']style"),
    "a message from another page": re.compile(r"[\"']message[\"']|\bpostMessage\b|\bonmessage\b"),
    "something from elsewhere": re.compile(r"https?://(?!www\.w3\.org/)"),
}
# WeasyPrint reads these, no browser does.
PAPERS = re.compile(r"(^|/)_?(paper|layout_paper)[_.]")


def faults(text: str, rules: dict[str, re.Pattern[str]]) -> Iterator[str]:
    """Name each rule that a text breaks, with the place."""
    for name, pattern in rules.items():
        for found in pattern.finditer(text):
            yield f"line {text.count(chr(10), 0, found.start()) + 1}: {name}: {found[0]!r}"


def test_pages_hold_no_style_and_no_script() -> None:
    pages = [file for file in templates() if not PAPERS.search(file.as_posix())]
    assert len(pages) > 50
    assert_none(
        [
            f"{relative(file)}: {fault}"
            for file in pages
            for fault in faults(file.read_text(encoding="utf-8"), INLINE)
        ]
    )


def test_scripts_make_no_markup_and_no_code_of_texts() -> None:
    scripts = sorted(STATIC.rglob("*.js"))
    assert scripts
    assert_none(
        [
            f"{relative(file)}: {fault}"
            for file in scripts
            for fault in faults(file.read_text(encoding="utf-8"), WRITING)
        ]
    )


def test_only_the_theme_and_waiting_scans_are_kept_in_a_browser() -> None:
    # Scans made without a network: codes, act, what was chosen, the person's number and the
    # moment (tests/front/test_browser_queue.py); gone once sent, or thrown away at signing out.
    # Codes scanned lately with their moments (tests/front/test_browser_photos.py); at most
    # fifty, gone at signing out.
    found = {
        (file.name, call)
        for file in STATIC.rglob("*.js")
        for call in re.findall(
            r"(?:localStorage|sessionStorage)\.setItem\((\w+)|indexedDB|document\.cookie",
            file.read_text(encoding="utf-8"),
        )
    }
    assert found == {("theme.js", "KEY"), ("keep.js", "name"), ("scanned.js", "KEY")}


def test_styles_bring_nothing_from_elsewhere() -> None:
    assert_none(
        [
            f"{relative(file)}: {found[0]}"
            for file in STATIC.rglob("*.css")
            for found in re.finditer(
                r"url\(\s*[\"']?(https?:|//|data:)", file.read_text(encoding="utf-8")
            )
        ]
    )


def test_the_policy_allows_nothing_within_a_page() -> None:
    directives = settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    sources = {source for given in directives.values() for source in given}
    assert sources == {"'none'", "'self'"}
    assert not hasattr(settings, "CONTENT_SECURITY_POLICY_REPORT_ONLY")


def test_planted_faults_are_found() -> None:
    planted = {
        "<p style='color:red'>": "a style attribute",
        "<style>p{}</style>": "a style element",
        "<script>go()</script>": "a script within the page",
        '<a href="x" onclick="go()">': "a handler within the page",
        '<a href="javascript:go()">': "a script as an address",
        '<img src="//cdn.test/x.png">': "something from elsewhere",
        "{{ note|safe }}": "text that is not escaped",
        '<p hx-on:click="go()">': "a handler for htmx",
        '<iframe src="/x">': "a frame",
    }
    for text, name in planted.items():
        assert [fault for fault in faults(text, INLINE) if name in fault], text
    for text in ("<script type='module' src='/static/a.js'></script>", '<option value="1">'):
        assert not list(faults(text, INLINE)), text
    for text in (
        "a.innerHTML = b",
        "eval(a)",
        "setTimeout('go()', 1)",
        "a.setAttribute('style', b)",
    ):
        assert list(faults(text, WRITING)), text
    assert PAPERS.search(f"{TEMPLATES.as_posix()}/trade/paper_receipt.html")
    assert not PAPERS.search(f"{TEMPLATES.as_posix()}/trade/newspaper.html")
