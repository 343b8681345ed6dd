"""Which fraginv this is."""

import tomllib
from functools import cache

from django.conf import settings


@cache
def version() -> str:
    """Return the version that the project's own file gives."""
    text = (settings.BASE_DIR / "pyproject.toml").read_text(encoding="utf-8")
    return str(tomllib.loads(text)["project"]["version"])
