"""What the pages of this package share."""

from typing import Any

from django.http import HttpRequest, QueryDict
from django.utils.http import url_has_allowed_host_and_scheme

LONGEST_WAY_BACK = 250


def sent(request: HttpRequest) -> QueryDict | None:
    """Return what a form was sent with, or None where it is only looked at."""
    return request.POST if request.method == "POST" else None


def way_back(text: str, *, default: str) -> str:
    """Return a path of these pages to go back to, or the default for anything else."""
    safe = url_has_allowed_host_and_scheme(text, allowed_hosts=None)
    return text if safe and len(text) <= LONGEST_WAY_BACK else default


def counted(count: int, one: str, many: str) -> str:
    """Say how many of something."""
    return f"{count} {one if count == 1 else many}"


def form_page(form: Any, *, title: str, button: str, **more: Any) -> dict[str, Any]:
    """Return what the form's template needs."""
    return {"form": form, "title": title, "button": button} | more
