"""Where the pages are served: an address and a port, or a Unix socket."""

import ipaddress
import re
from dataclasses import dataclass

from fraginv.base.errors import InputError

HOST = "127.0.0.1"
PORT = 8000
ADDRESS = re.compile(r"(?P<host>\[[0-9A-Fa-f:.]+\]|[^\[\]:]+)(?::(?P<port>[0-9]{1,6}))?")
# A Unix socket's path ends up in 108 bytes, the last of them NUL. Source: Linux, unix(7).
LONGEST_SOCKET = 107


@dataclass(frozen=True)
class Place:
    """Where to listen: ``socket`` is a Unix socket's path, else ``host`` and ``port`` count."""

    host: str = HOST
    port: int = PORT
    socket: str = ""

    @property
    def bind(self) -> str:
        """Return it as the application server takes it."""
        return f"unix:{self.socket}" if self.socket else f"{bracketed(self.host)}:{self.port}"

    @property
    def is_loopback(self) -> bool:
        """Tell whether nobody but this machine can reach it."""
        return bool(self.socket) or ipaddress.ip_address(self.host).is_loopback

    @property
    def is_everywhere(self) -> bool:
        """Tell whether it stands for all of the machine's addresses."""
        return not self.socket and ipaddress.ip_address(self.host).is_unspecified

    def url(self, name: str, *, https: bool) -> str:
        """Return the address of the start page.

        Args: ``name`` is the first under which the pages are reached, for where the
            place itself has none that a browser could open.
        """
        if https:
            return f"https://{name}/"
        if self.socket:
            return f"http://{name}/"
        host = name if self.is_everywhere else bracketed(self.host)
        return f"http://{host}:{self.port}/"


def place_of(listen: str, *, port: int | None) -> Place:
    """Read where to listen.

    Args: ``listen`` is empty, an address, ``ADDRESS:PORT``, ``[::1]:PORT`` or ``unix:PATH``;
        ``port`` is None where no other option gave one.
    Raises: InputError for what is none of these, for no port, or for two ports.
    """
    if listen.startswith("unix:"):
        return socket_of(listen.removeprefix("unix:"), port=port)
    found = ADDRESS.fullmatch(listen) if listen else ADDRESS.fullmatch(HOST)
    if found is None:
        raise InputError(how_to_listen(listen))
    if found["port"] and port is not None:
        raise InputError(f"--listen {listen} and --port both give a port. Leave one out.")
    number = int(found["port"]) if found["port"] else PORT if port is None else port
    if not 1 <= number <= 65535:
        raise InputError(f"{number} is no port. Choose one from 1 to 65535, such as {PORT}.")
    try:
        address = ipaddress.ip_address(loosed(found["host"]))
    except ValueError as error:
        raise InputError(how_to_listen(listen)) from error
    return Place(host=str(address), port=number)


def socket_of(path: str, *, port: int | None) -> Place:
    """Read the path of a Unix socket.

    Raises: InputError for one that is too long or not from the root, or a port beside it.
    """
    if port is not None:
        raise InputError("A Unix socket has no port. Leave --port out.")
    if not path.startswith("/") or len(path.encode()) > LONGEST_SOCKET:
        raise InputError(
            f"{path!r} is no path for a socket. Write it from the root and at most "
            f"{LONGEST_SOCKET} bytes long, as in unix:/run/fraginv/pages.sock."
        )
    return Place(socket=path)


def how_to_listen(listen: str) -> str:
    """Say how a place is written."""
    return (
        f"--listen {listen} is no address. Write one of this machine's, as in {HOST}, "
        f"192.0.2.21:{PORT} or [::1]:{PORT}, or unix:/run/fraginv/pages.sock."
    )


def bracketed(host: str) -> str:
    """Return an address as it stands in a URL."""
    return f"[{host}]" if ":" in host else host


def loosed(host: str) -> str:
    """Return an address without the brackets that it has in a URL."""
    return host.removeprefix("[").removesuffix("]")
