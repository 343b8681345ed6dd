"""The link that founds the house, good once, and what the machine proposes for it."""

import hmac
from pathlib import Path
from zoneinfo import available_timezones

from django.conf import settings
from django.urls import reverse

from fraginv.base.chance import token
from fraginv.base.environment import HERE
from fraginv.base.home import home_in_words, write_anew
from fraginv.base.rules.secrets import hash_of

LINK_FILE = "begin.sha256"


def make_link(url: str) -> str:
    """Make a new link to the first page; one made before is good no longer.

    The home keeps its hash alone, so that nobody who reads there can use it.

    Args: ``url`` is the start page's.
    Raises: InputError where the home cannot be written.
    """
    made = token()
    with home_in_words(settings.FRAGINV_HOME):
        write_anew(link_file(), hash_of(made))
    return url.rstrip("/") + reverse("front:begin", args=[made])


def is_link(token: str) -> bool:
    """Tell whether a link's token is the one that was made last and not used yet."""
    try:
        kept = link_file().read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return False
    return bool(kept) and hmac.compare_digest(kept, hash_of(token))


def end_link() -> None:
    """Let the link be good no longer."""
    link_file().unlink(missing_ok=True)


def link_file() -> Path:
    """Return where the hash of the link's token is kept."""
    return Path(settings.FRAGINV_HOME) / LINK_FILE


def host_for_labels() -> str:
    """Return the first name under which others reach the pages, or an empty text."""
    return next((name.lstrip(".") for name in settings.ALLOWED_HOSTS if name not in HERE), "")


def zone_here() -> str:
    """Return the time zone of this machine, or an empty text where it names no place."""
    name = str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
    names_place = "/" in name and not name.startswith("Etc/")
    return name if names_place and name in available_timezones() else ""
