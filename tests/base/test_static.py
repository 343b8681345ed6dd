"""Static files get names that change with their content, down to what they bring in."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.test import override_settings

from fraginv.base.static import HashedStatic

HASHED = re.compile(r"\.[0-9a-f]{12}\.(?:css|js)$")


@pytest.fixture
def collected(tmp_path: Path) -> Path:
    """The folder into which everything was collected."""
    hashed = {"staticfiles": {"BACKEND": "fraginv.base.static.HashedStatic"}}
    with override_settings(STATIC_ROOT=tmp_path, STORAGES={**settings.STORAGES, **hashed}):
        call_command("collectstatic", interactive=False, verbosity=0)
    return tmp_path


def test_style_sheets_bring_in_hashed_ones_into_their_layers(collected: Path) -> None:
    stored = HashedStatic(location=str(collected)).stored_name("css/app.css")
    assert HASHED.search(stored)
    text = (collected / stored).read_text(encoding="utf-8")
    brought = re.findall(r'@import url\("([^"]+)"\) layer\((\w+)\);', text)
    assert len(brought) >= 20
    for name, _ in brought:
        assert HASHED.search(name)
        assert (collected / "css" / name).is_file()


def test_scripts_of_libraries_are_left_as_they_are(collected: Path) -> None:
    storage = HashedStatic(location=str(collected))
    stored = storage.stored_name("django_htmx/htmx-2.min.js")
    assert (collected / stored).read_bytes() == (
        collected / "django_htmx" / "htmx-2.min.js"
    ).read_bytes()


def test_modules_bring_in_hashed_ones(
    collected: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    source = tmp_path_factory.mktemp("modules")
    (source / "js").mkdir()
    (source / "js/one.js").write_text('import { two } from "./two.js";\n', encoding="utf-8")
    (source / "js/two.js").write_text("export const two = 2;\n", encoding="utf-8")
    storage = HashedStatic(location=str(source))
    paths = {name: (storage, name) for name in ("js/one.js", "js/two.js")}
    assert all(done is True for _, _, done in storage.post_process(paths))
    text = (source / storage.stored_name("js/one.js")).read_text(encoding="utf-8")
    assert re.search(r'from "\./two\.[0-9a-f]{12}\.js"', text)
