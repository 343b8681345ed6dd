"""The system check speaks plainly, even where WeasyPrint cannot be imported at all."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from fraginv.base import checks, fonts


def check_in_a_process(tmp_path: Path, *, code: str, libraries: Path | None = None) -> str:
    """Run ``manage.py check`` in a process of its own after ``code``; return what it says.

    Args: ``libraries`` is a folder in which the loader looks first.
    """
    environment = os.environ | {"FRAGINV_HOME": str(tmp_path / "home")}
    environment.pop("DATABASE_URL", None)
    if libraries is not None:
        environment["LD_LIBRARY_PATH"] = str(libraries)
    program = f"{code}\nimport sys\nsys.argv = ['manage.py', 'check']\nimport runpy\n"
    program += "runpy.run_path('manage.py', run_name='__main__')\n"
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    return f"{done.returncode}: {done.stderr}"


def test_this_machine_passes() -> None:
    assert checks.papers_can_be_made() == []


def test_a_missing_pango_is_named(tmp_path: Path) -> None:
    broken = tmp_path / "lib"
    broken.mkdir()
    # A file that is no library: the loader finds it first and gives up, as with none at all.
    (broken / "libpango-1.0.so.0").write_bytes(b"")

    said = check_in_a_process(tmp_path, code="", libraries=broken)

    assert said.startswith("1: ")
    assert "base.E001" in said
    assert "Pango" in said
    assert ".ci/setup" in said
    assert "libpango-1.0-0" in said
    assert "brew install pango" in said


def test_a_missing_weasyprint_is_named(tmp_path: Path) -> None:
    said = check_in_a_process(tmp_path, code="import sys\nsys.modules['weasyprint'] = None")
    assert said.startswith("1: ")
    assert "WeasyPrint is missing" in said
    assert ".ci/setup" in said


def test_a_missing_font_is_named(tmp_path: Path) -> None:
    code = "from pathlib import Path\nimport fraginv.base.fonts as fonts\n"
    code += f"fonts.FOLDERS = (Path({str(tmp_path)!r}) / 'none',)"
    said = check_in_a_process(tmp_path, code=code)
    assert said.startswith("1: ")
    assert "base.E002" in said
    assert "fonts-inter" in said


def test_a_machine_that_has_all_says_nothing(tmp_path: Path) -> None:
    assert check_in_a_process(tmp_path, code="").startswith("0: ")


def test_the_glance_needs_every_library(monkeypatch: pytest.MonkeyPatch) -> None:
    assert checks.is_there_at_a_glance()
    monkeypatch.setattr(checks, "LIBRARIES", (*checks.LIBRARIES, "libnothere-1.0.so.0"))
    assert not checks.is_there_at_a_glance()
    assert checks.papers_can_be_made() == []


def test_fonts_are_looked_for_where_systems_keep_them() -> None:
    assert any(folder.is_dir() for folder in fonts.FOLDERS)
