"""System checks: what the machine must have before papers can be made."""

import ctypes
from collections.abc import Sequence
from importlib.util import find_spec
from typing import Any

from django.apps import AppConfig
from django.core.checks import CheckMessage, Error, register

from fraginv.base.fonts import FontMissing, installed_faces
from fraginv.base.paper import import_problem

# The libraries of Pango as Linux names them. Asking for them takes milliseconds,
# importing WeasyPrint half a second, and the check runs before every command.
LIBRARIES = (
    "libgobject-2.0.so.0",
    "libpango-1.0.so.0",
    "libpangoft2-1.0.so.0",
    "libharfbuzz.so.0",
    "libfontconfig.so.1",
)


@register()
def papers_can_be_made(
    app_configs: Sequence[AppConfig] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Name what papers need and the machine lacks: WeasyPrint, Pango or a font."""
    messages: list[CheckMessage] = []
    problem = "" if is_there_at_a_glance() else import_problem()
    if problem:
        messages.append(Error(problem, id="base.E001"))
    try:
        installed_faces()
    except FontMissing as error:
        messages.append(Error(error.message, id="base.E002"))
    return messages


def is_there_at_a_glance() -> bool:
    """Tell whether WeasyPrint and its libraries are found under their names on Linux.

    Elsewhere the names differ and the answer is no; then the import itself decides.
    """
    if find_spec("weasyprint") is None:
        return False
    try:
        for name in LIBRARIES:
            ctypes.CDLL(name)
    except OSError:
        return False
    return True
