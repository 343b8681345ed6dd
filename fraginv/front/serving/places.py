"""Looking at the place to listen at before anything is done there."""

import errno
import os
import socket
import stat
import time
from pathlib import Path

from django.conf import settings

from fraginv.base.environment import HERE
from fraginv.base.errors import InputError
from fraginv.base.rules.proxies import THIS_MACHINE, is_trusted
from fraginv.front.rules.places import HOST, Place


def check_place(place: Place, *, patience: float = 0.0) -> None:
    """Refuse a place that cannot be listened at.

    Args: ``patience`` is for how many seconds somebody else may still be there.
    Raises: InputError.
    """
    if place.socket:
        check_socket(place.socket)
        return
    until = time.monotonic() + patience
    while (error := why_not(place)) is not None:
        if error.errno != errno.EADDRINUSE or time.monotonic() >= until:
            where = f"Port {place.port}" if place.host == HOST else place.bind
            raise InputError(
                f"{where} cannot be used: {error.strerror}. Choose another with --port or --listen."
            ) from error
        time.sleep(0.2)


def why_not(place: Place) -> OSError | None:
    """Try to listen; return what stands against it."""
    family = socket.AF_INET6 if ":" in place.host else socket.AF_INET
    try:
        with socket.socket(family) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((place.host, place.port))
            probe.listen()
    except OSError as error:
        return error
    return None


def check_socket(path: str) -> None:
    """Refuse a path at which no socket can be made, and take away a dead one.

    Raises: InputError.
    """
    if not is_trusted(THIS_MACHINE, trusted=settings.ENVIRONMENT.proxies):
        raise InputError(
            "A Unix socket is for a reverse proxy on this machine, which must be believed about "
            f"who asks. Set FRAGINV_PROXY={THIS_MACHINE}."
        )
    file = Path(path)
    try:
        if file.exists():
            refuse_unless_dead(file)
            file.unlink()
        if not os.access(file.parent, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    except OSError as error:
        raise InputError(
            f"{path} cannot be used: {error.strerror}. Choose another path."
        ) from error


def refuse_unless_dead(file: Path) -> None:
    """Refuse a path where something else lies, or where somebody answers.

    Raises: InputError, and OSError as the file system.
    """
    if not stat.S_ISSOCK(file.stat().st_mode):
        raise InputError(f"{file} is there already and no socket. Choose another path.")
    with socket.socket(socket.AF_UNIX) as probe:
        try:
            probe.connect(str(file))
        except ConnectionRefusedError:
            return
    raise InputError(f"Somebody serves at {file} already. Choose another path.")


def warnings_for(place: Place) -> list[str]:
    """Say in a sentence each what others on the network should know of a place, or cannot do."""
    said = []
    if not place.is_loopback and not settings.ENVIRONMENT.https:
        said.append(
            f"{place.host} can be reached by others, and without HTTPS everything, passwords too, "
            "travels unprotected: do this only on a network that you trust."
        )
    if not place.is_loopback and all(name in HERE for name in settings.ALLOWED_HOSTS):
        said.append(
            "FRAGINV_HOST names this machine alone: set it to the name or address by which others "
            "open the pages, or they are refused."
        )
    return said
