"""Serving the pages on this machine."""

import os
import socket
import sys
from typing import NoReturn

from django.conf import settings
from django.core.management import call_command

from fraginv.base.errors import InputError

HOST = "127.0.0.1"
PORT = 8000
WORKERS, THREADS = 2, 4


def check_port(port: int) -> None:
    """Refuse a port that cannot be listened on.

    Raises: InputError.
    """
    if not 1 <= port <= 65535:
        raise InputError(f"{port} is no port. Choose one from 1 to 65535, such as {PORT}.")
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            raise InputError(
                f"Port {port} cannot be used: {error.strerror}. Choose another with --port."
            ) from error


def prepare() -> None:
    """Bring the database up to date and put the static files where they are served from."""
    call_command("migrate", verbosity=0, interactive=False)
    call_command("collectstatic", verbosity=0, interactive=False)


def serve(port: int) -> NoReturn:
    """Become the application server; it ends with Ctrl-C or a signal to this process."""
    sys.stdout.flush()
    command = [
        sys.executable,
        "-m",
        "gunicorn",
        "fraginv.wsgi:application",
        f"--chdir={settings.BASE_DIR}",
        f"--bind={HOST}:{port}",
        f"--workers={WORKERS}",
        f"--threads={THREADS}",
        "--log-level=warning",
    ]
    os.execv(sys.executable, command)  # noqa: S606 no shell; every word is ours
