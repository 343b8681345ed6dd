"""Who asks, and how, when reverse proxies stand between: what of their word is believed."""

import ipaddress
from collections.abc import Sequence

from fraginv.base.rules.environment import Network

Address = ipaddress.IPv4Address | ipaddress.IPv6Address

# What comes over a Unix socket has no address: it comes from this machine.
THIS_MACHINE = "127.0.0.1"
SCHEMES = ("http", "https")


def client_of(peer: str, *, forwarded_for: str, trusted: Sequence[Network]) -> str:
    """Return the address of who asked.

    X-Forwarded-For is walked from its right end, where each proxy writes whom it
    heard, for as long as the address that says so is trusted. What a stranger
    wrote further left is never reached; what is no address ends the walk.

    Args: ``peer`` is who is connected, empty for a Unix socket; ``forwarded_for``
        the header, empty where there is none.
    """
    client = peer or THIS_MACHINE
    for part in reversed(forwarded_for.split(",")):
        if not is_trusted(client, trusted=trusted):
            break
        heard = read_address(part)
        if heard is None:
            break
        client = str(heard)
    return client


def scheme_of(peer: str, *, forwarded_proto: str, trusted: Sequence[Network]) -> str:
    """Return the scheme that a trusted proxy was asked by, or an empty text for none known."""
    said = forwarded_proto.strip().lower()
    if said in SCHEMES and is_trusted(peer or THIS_MACHINE, trusted=trusted):
        return said
    return ""


def is_trusted(text: str, *, trusted: Sequence[Network]) -> bool:
    """Tell whether an address belongs to one of the proxies."""
    address = read_address(text)
    return address is not None and any(address in network for network in trusted)


def read_address(text: str) -> Address | None:
    """Read an address, or return None for what is none; a port beside it makes it none.

    An IPv4 address in an IPv6 one is taken for the IPv4 one.
    Source: RFC 4291, section 2.5.5.2.
    """
    if "%" in text:
        return None
    try:
        address = ipaddress.ip_address(text.strip())
    except ValueError:
        return None
    return getattr(address, "ipv4_mapped", None) or address


def neighbourhood(text: str) -> str | None:
    """Return what counts as one address: an IPv6 network of 64 bits is one household.

    Returns: None for what is no address, such as a local socket.
    Source: RFC 6177 (from memory): no site gets less than a network of 64 bits.
    """
    try:
        address = ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return None
    if isinstance(address, ipaddress.IPv4Address):
        return str(address)
    if address.ipv4_mapped:
        return str(address.ipv4_mapped)
    return str(ipaddress.ip_network((address, 64), strict=False).network_address)
