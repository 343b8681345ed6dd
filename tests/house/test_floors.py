"""Foreign keys, templates and URL names keep to the floors, as imports do."""

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import pytest
from django.apps import apps
from django.db import models
from django.template.base import Lexer, TokenType
from django.urls import URLPattern, URLResolver, get_resolver

from tests.house.tree import (
    HOUSE,
    TEMPLATES,
    Module,
    assert_none,
    floors,
    may_use,
    module,
    modules,
    templates,
)

URL_NAME = re.compile(r"[a-z_]+:[a-z_0-9]+")
TEMPLATE_NAME = re.compile(r"[a-z_]+/[\w/]+\.html")
URL_WORDS = {"reverse", "reverse_lazy", "redirect", "resolve_url"}


@dataclass(frozen=True)
class Use:
    """One package's use of another: by whom, of what, and where it is written."""

    user: str
    used: str
    where: str


def against_floors(uses: Iterable[Use]) -> list[str]:
    """Name the uses of a package that is not below."""
    known = floors()
    return [
        f"{use.where}: {use.user} may not use {use.used}"
        for use in uses
        if use.used not in known or not may_use(use.user, use.used)
    ]


def relations(model: type[models.Model]) -> Iterator[Use]:
    """List which packages a model's own foreign keys lead to."""
    for field in model._meta.get_fields():
        if not field.is_relation or field.auto_created or not field.related_model:
            continue
        target = field.related_model
        label = target.split(".")[0] if isinstance(target, str) else target._meta.app_label
        if label in floors():
            yield Use(model._meta.app_label, label, f"{model._meta.label}.{field.name}")


def template_uses(path: str, source: str) -> Iterator[Use]:
    """List what a template extends, includes and links to, by package.

    A name that is worked out when the page is drawn cannot be checked, so it
    counts as a use of nothing known.
    """
    package = path.split("/")[0] if "/" in path else "front"
    for token in Lexer(source).tokenize():
        if token.token_type != TokenType.BLOCK:
            continue
        word, *rest = token.split_contents()
        where = f"{path}:{token.lineno}"
        if word in {"extends", "include", "url"} and rest:
            yield Use(package, named_package(rest[0], is_url=word == "url"), where)


def named_package(text: str, *, is_url: bool) -> str:
    """Return the package in a quoted template's or URL's name; else what was written."""
    name = text.strip("\"'")
    if name == text:
        return text
    return name.split(":" if is_url else "/")[0]


def python_uses(file: Module) -> Iterator[Use]:
    """List the URLs and templates that a module names, by package."""
    known = floors()
    for node in ast.walk(file.tree):
        where = f"{file.path}:{getattr(node, 'lineno', 0)}"
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            parts = re.split(r"[:/]", node.value)
            is_name = URL_NAME.fullmatch(node.value) or TEMPLATE_NAME.fullmatch(node.value)
            if is_name and parts[0] in known:
                yield Use(file.package, parts[0], where)
        elif isinstance(node, ast.Call) and called(node) in URL_WORDS and node.args:
            first = node.args[0]
            if isinstance(first, ast.JoinedStr):
                yield Use(file.package, ast.unparse(first), where)


def called(node: ast.Call) -> str:
    """Return the last part of the name that is called."""
    return node.func.attr if isinstance(node.func, ast.Attribute) else ast.unparse(node.func)


def url_names(resolver: URLResolver, prefix: str = "") -> Iterator[str]:
    """List every URL name that can be reversed."""
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            space = f"{prefix}{entry.namespace}:" if entry.namespace else prefix
            yield from url_names(entry, space)
        elif isinstance(entry, URLPattern) and entry.name:
            yield f"{prefix}{entry.name}"


def test_every_folder_has_its_floor() -> None:
    folders = {folder.name for folder in HOUSE.iterdir() if (folder / "__init__.py").exists()}
    assert folders <= set(floors())
    assert {folder.name for folder in TEMPLATES.iterdir() if folder.is_dir()} <= folders


def test_foreign_keys_keep_to_the_floors() -> None:
    own = [model for model in apps.get_models() if model._meta.app_label in floors()]
    uses = [use for model in own for use in relations(model)]
    assert uses
    assert_none(against_floors(uses))


@pytest.mark.django_isolate_apps("fraginv.base")
def test_a_planted_foreign_key_upwards_is_found() -> None:
    class Planted(models.Model):
        frag = models.ForeignKey("stock.Frag", on_delete=models.PROTECT)
        person = models.ForeignKey("base.Person", on_delete=models.PROTECT)

        class Meta:
            app_label = "base"

        def __str__(self) -> str:
            return "planted"

    assert against_floors(relations(Planted)) == ["base.Planted.frag: base may not use stock"]


def test_templates_keep_to_the_floors() -> None:
    uses = [
        use
        for file in templates()
        for use in template_uses(
            file.relative_to(TEMPLATES).as_posix(), file.read_text(encoding="utf-8")
        )
    ]
    assert uses
    assert_none(against_floors(uses))


@pytest.mark.parametrize(
    ("source", "problem"),
    [
        pytest.param('{% extends "front/x.html" %}', "stock may not use front", id="upwards"),
        pytest.param('{% include "trade/_x.html" %}', "stock may not use trade", id="include"),
        pytest.param("{% url 'trade:sale' 1 %}", "stock may not use trade", id="url"),
        pytest.param("{% include part %}", "stock may not use part", id="worked out"),
        pytest.param('{% url "home" %}', "stock may not use home", id="no package"),
    ],
)
def test_a_planted_use_in_a_template_is_found(source: str, problem: str) -> None:
    good = '{% extends "base/layout.html" %}{% url "stock:frag" 1 %}{# {% url "x" %} #}'
    assert against_floors(template_uses("stock/a.html", good)) == []
    assert against_floors(template_uses("stock/a.html", source)) == [f"stock/a.html:1: {problem}"]


def test_python_keeps_to_the_floors() -> None:
    uses = [use for file in modules("fraginv") if file.package for use in python_uses(file)]
    assert uses
    assert_none(against_floors(uses))


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        pytest.param("reverse('reports:month')", "costs may not use reports", id="upwards"),
        pytest.param("page = 'trade:sale'", "costs may not use trade", id="sideways"),
        pytest.param("render(r, 'front/x.html')", "costs may not use front", id="template"),
        pytest.param("redirect(f'{a}:b')", "costs may not use f'{a}:b'", id="worked out"),
    ],
)
def test_a_planted_use_in_python_is_found(line: str, problem: str) -> None:
    good = module("fraginv/costs/views.py", "reverse('costs:bill')\nx = 'base/x.html'\ny = 'a:b'")
    bad = module("fraginv/costs/views.py", line)
    assert against_floors(python_uses(good)) == []
    assert against_floors(python_uses(bad)) == [f"fraginv/costs/views.py:1: {problem}"]


def test_every_url_that_is_named_exists() -> None:
    known = set(url_names(get_resolver()))
    assert known
    named = {
        name.strip("\"'")
        for file in templates()
        for token in Lexer(file.read_text(encoding="utf-8")).tokenize()
        if token.token_type == TokenType.BLOCK
        for word, name in [[*token.split_contents(), "", ""][:2]]
        if word == "url"
    }
    assert_none(sorted(named - known))


def test_urls_are_named_by_their_package() -> None:
    spaces = {name.split(":")[0] for name in url_names(get_resolver())}
    assert spaces <= set(floors())
