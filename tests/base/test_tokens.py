"""Colours are readable in both themes, named once, and used by name alone."""

import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest

from tests.house.tree import STATIC, TEMPLATES, relative

CSS = STATIC / "css"
TOKENS = CSS / "tokens.css"
VALUE = re.compile(r"--([\w-]+): ([^;]+);")
HEX = re.compile(r"#[0-9a-f]{6}")
LITERAL = re.compile(
    r"#[0-9a-f]{3,8}\b(?=[^{]*[;\"'}])|\b(?:rgba?|hsla?|hwb|lab|lch|oklab|oklch|color|color-mix)\("
    r"|:\s*(?:black|white|red|green|blue|gr[ae]y|silver|navy|teal|orange|yellow|purple|pink)\b",
    re.IGNORECASE,
)
WORKED_OUT = "{}"
WORKED_OUT = "{}"
SURFACES = ("surface-page", "surface-raised", "surface-sunken")
WORDS = ("text", "text-soft", "accent", "accent-strong", "danger", "caution", "info")
STAGES = ("healing", "growing", "ready", "sold", "lost", "held", "apart", "quarantined")
TEXT_PAIRS = [
    *product(WORDS, SURFACES),
    *((f"stage-{stage}", f"stage-{stage}-wash") for stage in STAGES),
    *product(("text", "text-soft"), ("caution-wash", "danger-wash", "info-wash", "good-wash")),
    *product(("text", "text-soft"), ("accent-wash",)),
    *((role, f"{role}-wash") for role in ("caution", "danger", "info", "good", "accent")),
    *product(("on-accent",), ("accent", "accent-strong")),
    ("on-danger", "danger"),
    ("danger-strong", "danger-wash"),
    *product(
        ("text-on-bar", "text-on-bar-soft", "accent-on-bar"),
        ("surface-bar", "surface-bar-current"),
    ),
]
PART_PAIRS = [
    *product(("line-strong", "focus"), SURFACES),
    ("focus-on-bar", "surface-bar"),
    ("caution-line", "caution-wash"),
    ("accent", "surface-sunken"),
]


def luminance(colour: str) -> float:
    """Work out relative luminance.

    Source: WCAG 2.2, definition of relative luminance.
    """
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Work out contrast ratio.

    Source: WCAG 2.2, definition of contrast ratio.
    """
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def block(opening: str) -> dict[str, str]:
    """Read the values that stand after an opening line, up to its closing brace."""
    text = TOKENS.read_text(encoding="utf-8")
    start = text.index(opening)
    return dict(VALUE.findall(text[start : text.index("}", start)]))


LIGHT = block(":root {")
DARK = block(':root:not([data-theme="light"]) {')
CHOSEN_DARK = block('[data-theme="dark"] {')
THEMES = {"light": LIGHT, "dark": LIGHT | DARK}


@pytest.mark.parametrize(
    ("colour", "ratio"),
    # Computed from WCAG 2.2's formula for text on white, as published in many lists; the
    # last grey that passes 4.5 and the first that fails are the usual check.
    [
        ("#000000", 21.00),
        ("#767676", 4.54),
        ("#777777", 4.48),
        ("#949494", 3.03),
        ("#ff0000", 4.00),
        ("#0000ff", 8.59),
        ("#008000", 5.14),
    ],
)
def test_the_formula_gives_known_ratios(colour: str, ratio: float) -> None:
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("theme", THEMES)
def test_text_is_readable(theme: str) -> None:
    """WCAG 2.2, 1.4.3 (AA): 4.5 to 1 for text."""
    colours = THEMES[theme]
    pale = {
        (text, ground): round(contrast(colours[text], colours[ground]), 2)
        for text, ground in TEXT_PAIRS
        if contrast(colours[text], colours[ground]) < 4.5
    }
    assert not pale


@pytest.mark.parametrize("theme", THEMES)
def test_parts_of_controls_are_visible(theme: str) -> None:
    """WCAG 2.2, 1.4.11 (AA): 3 to 1 for the parts that make a control or a picture."""
    colours = THEMES[theme]
    pale = {
        (part, ground): round(contrast(colours[part], colours[ground]), 2)
        for part, ground in PART_PAIRS
        if contrast(colours[part], colours[ground]) < 3
    }
    assert not pale


def test_the_dark_page_is_dim() -> None:
    """Common practice for a dark-adapted eye, no source: no pure white, a ground near black."""
    assert luminance(DARK["surface-page"]) < 0.01
    assert luminance(DARK["text"]) < 0.75


def test_dark_is_the_same_by_choice_and_by_device() -> None:
    assert DARK == CHOSEN_DARK


def test_every_colour_has_its_dark_side() -> None:
    colours = {name for name, value in LIGHT.items() if HEX.search(value) or "rgb" in value}
    assert colours == set(DARK)


def test_targets_are_as_wide_as_a_thumb() -> None:
    """WCAG 2.2, 2.5.5: 44 px; a rem is 16 px unless the reader asks for more."""
    for name in ("target", "target-large"):
        assert float(LIGHT[name].removesuffix("rem")) * 16 >= 44


def styles() -> list[Path]:
    """List the style sheets of the screen and of papers."""
    return sorted(CSS.rglob("*.css"))


def literals(text: str) -> list[str]:
    """Find colours that are written out."""
    return [found.group() for found in LITERAL.finditer(re.sub(r"/\*.*?\*/", "", text, flags=re.S))]


def screens() -> list[Path]:
    """List the templates of pages; what is printed is black on white, whatever the theme."""
    return [
        file
        for file in sorted(TEMPLATES.rglob("*.html"))
        if not file.name.startswith(("paper_", "_paper_")) and file.name != "layout_paper.html"
    ]


def test_colours_are_written_out_in_one_file() -> None:
    files = [*styles(), *STATIC.rglob("*.js"), *screens()]
    found = {
        relative(file): literals(file.read_text(encoding="utf-8"))
        for file in files
        if file != TOKENS
    }
    assert not {file: colours for file, colours in found.items() if colours}


@pytest.mark.parametrize(
    "planted",
    ["a { color: #a4262c; }", "a { color: rgb(1 2 3); }", "a { color: white; }", 'fill="#abc"'],
)
def test_a_planted_colour_is_found(planted: str) -> None:
    assert literals(planted)
    assert not literals("a { color: var(--text); border: 0 solid currentcolor; }")


def test_papers_can_read_the_tokens() -> None:
    """WeasyPrint 70 drops ``color-mix()`` and takes the light side of ``light-dark()``."""
    assert not re.search(r"color-mix\(|light-dark\(", TOKENS.read_text(encoding="utf-8"))


def test_every_value_that_is_used_exists() -> None:
    texts = [file.read_text(encoding="utf-8") for file in styles()]
    named = {name for text in texts for name, _ in VALUE.findall(text)}
    used = {name for text in texts for name in re.findall(r"var\(--([\w-]+)\)", text)}
    assert used <= named


def test_every_component_is_brought_in() -> None:
    text = (CSS / "app.css").read_text(encoding="utf-8")
    imported = set(
        re.findall(r'@import url\("(components/[\w-]+\.css)"\) layer\(components\);', text)
    )
    assert imported == {file.relative_to(CSS).as_posix() for file in (CSS / "components").glob("*")}
    assert "@layer reset, tokens, base, layout, components, utilities;" in text


def classes_used() -> Iterator[tuple[str, str]]:
    """List the classes that screens name, with the file; parts that are worked out are left out."""
    for file in screens():
        text = re.sub(r"{{.*?}}", WORKED_OUT, file.read_text(encoding="utf-8"))
        text = re.sub(r"{%.*?%}", " ", text)
        for names in re.findall(r'\bclass="([^"]*)"', text):
            for name in names.split():
                if WORKED_OUT not in name:
                    yield name, relative(file)


def test_every_class_on_a_page_is_drawn() -> None:
    drawn = {
        name
        for file in styles()
        for name in re.findall(r"\.([a-z][\w-]*)", file.read_text(encoding="utf-8"))
    }
    assert not sorted({(name, file) for name, file in classes_used() if name not in drawn})
