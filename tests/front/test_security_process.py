"""What the framework's own checks say, and the check of packages, as processes of their own."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from tests.front.running import Line

pytestmark = pytest.mark.own_home


@pytest.fixture
def line(tmp_path: Path) -> Line:
    """A home of its own, served by HTTPS."""
    return Line(tmp_path / "home", {"FRAGINV_HTTPS": "1", "FRAGINV_HOST": "reef.example"})


def test_the_framework_finds_nothing_to_warn_of(line: Line) -> None:
    ran = line("check", "--deploy", "--fail-level", "WARNING")
    assert ran.status == 0, ran.err
    assert "no issues" in ran.out + ran.err
    said = line.python(
        "from django.conf import settings as s\n"
        "print(s.SILENCED_SYSTEM_CHECKS, s.SECURE_HSTS_SECONDS, len(s.SECRET_KEY) >= 50)\n"
        "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE)\n"
        "print(s.DEBUG, s.ALLOWED_HOSTS)"
    ).splitlines()
    # Two checks are silenced, each with its reason beside it in the settings.
    assert said[0] == "['security.W005', 'security.W021'] 31536000 True"
    assert said[1] == "__Host-sessionid __Host-csrftoken True"
    assert said[2] == "False ['reef.example']"


def test_the_key_is_random_and_its_owners_alone(line: Line, tmp_path: Path) -> None:
    keys = set()
    for number in range(2):
        home = tmp_path / f"home-{number}"
        Line(home)("check")
        file = home / "signing.key"
        assert file.stat().st_mode & 0o077 == 0
        keys.add(file.read_text(encoding="ascii"))
    # NIST SP 800-131A: 112 bits at least; token_urlsafe(50) gives 400.
    assert len(keys) == 2
    assert all(len(key) >= 67 and len(set(key)) > 20 for key in keys)


def test_packages_that_cannot_be_looked_up_are_a_sentence(tmp_path: Path) -> None:
    # Nothing listens on port 9 here, so that nobody answers.
    nobody = "http://127.0.0.1:9"
    ran = subprocess.run(
        [sys.executable, "-m", "tests.audit"],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "HTTPS_PROXY": nobody,
            "HTTP_PROXY": nobody,
            "ALL_PROXY": nobody,
            "NO_PROXY": "",
        },
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ran.returncode == 0
    assert ran.stdout.startswith("known faults of packages could not be asked for: ")
    assert ran.stdout.count("\n") == 1
