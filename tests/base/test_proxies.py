"""Whose word about forwarding is believed: address and scheme, from honest proxies and others."""

import ipaddress
from dataclasses import replace

import pytest
from django.conf import LazySettings
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory

from fraginv.base.middleware import FORWARDING, ProxyMiddleware
from fraginv.base.rules.proxies import client_of, neighbourhood, read_address, scheme_of

PROXIES = tuple(map(ipaddress.ip_network, ("127.0.0.1", "192.0.2.0/24", "2001:db8:1::/48")))


# Addresses are those of RFC 5737 and RFC 3849, set aside for documents.
@pytest.mark.parametrize(
    ("peer", "header", "client"),
    [
        pytest.param("203.0.113.9", "", "203.0.113.9", id="no proxy"),
        pytest.param("203.0.113.9", "198.51.100.1", "203.0.113.9", id="stranger claims another"),
        pytest.param("203.0.113.9", "127.0.0.1", "203.0.113.9", id="stranger claims a proxy"),
        pytest.param("127.0.0.1", "203.0.113.9", "203.0.113.9", id="one proxy"),
        pytest.param("", "203.0.113.9", "203.0.113.9", id="unix socket"),
        pytest.param("", "", "127.0.0.1", id="unix socket without header"),
        pytest.param("127.0.0.1", "", "127.0.0.1", id="asked on the machine itself"),
        pytest.param("127.0.0.1", "203.0.113.9, 192.0.2.7", "203.0.113.9", id="two proxies"),
        pytest.param(
            "127.0.0.1", "198.51.100.1, 203.0.113.9", "203.0.113.9", id="client writes one before"
        ),
        pytest.param(
            "127.0.0.1", "192.0.2.7, 203.0.113.9", "203.0.113.9", id="client plays a proxy"
        ),
        pytest.param(
            "127.0.0.1",
            "198.51.100.1, 203.0.113.9, 192.0.2.7",
            "203.0.113.9",
            id="two proxies and a lie",
        ),
        pytest.param("127.0.0.1", "192.0.2.7, 192.0.2.8", "192.0.2.7", id="proxies alone"),
        pytest.param("127.0.0.1", "unknown", "127.0.0.1", id="no address"),
        pytest.param("127.0.0.1", "203.0.113.9:4711", "127.0.0.1", id="port beside it"),
        pytest.param("127.0.0.1", "203.0.113.9, garbage, 192.0.2.7", "192.0.2.7", id="broken"),
        pytest.param("127.0.0.1", ",,,", "127.0.0.1", id="commas"),
        pytest.param("127.0.0.1", "203.0.113.9,", "127.0.0.1", id="empty end"),
        pytest.param("127.0.0.1", "203.0.113.999", "127.0.0.1", id="number too large"),
        pytest.param("127.0.0.1", "fe80::1%eth0", "127.0.0.1", id="zone of a link"),
        pytest.param("127.0.0.1", "2001:DB8::00A", "2001:db8::a", id="IPv6, written short"),
        pytest.param("2001:db8:1::5", "2001:db8::a", "2001:db8::a", id="IPv6 proxy"),
        pytest.param("::ffff:127.0.0.1", "203.0.113.9", "203.0.113.9", id="IPv4 in IPv6"),
        pytest.param("127.0.0.1", "::ffff:203.0.113.9", "203.0.113.9", id="client IPv4 in IPv6"),
        pytest.param("nonsense", "203.0.113.9", "nonsense", id="peer is no address"),
    ],
)
def test_who_asked(peer: str, header: str, client: str) -> None:
    assert client_of(peer, forwarded_for=header, trusted=PROXIES) == client


def test_without_proxies_nobody_is_believed() -> None:
    for peer in ("127.0.0.1", "", "203.0.113.9"):
        found = client_of(peer, forwarded_for="198.51.100.1", trusted=())
        assert found == (peer or "127.0.0.1")
        assert scheme_of(peer, forwarded_proto="https", trusted=()) == ""


@pytest.mark.parametrize(
    ("peer", "header", "scheme"),
    [
        ("127.0.0.1", "https", "https"),
        ("127.0.0.1", " HTTPS ", "https"),
        ("127.0.0.1", "http", "http"),
        ("", "https", "https"),
        ("203.0.113.9", "https", ""),
        ("127.0.0.1", "", ""),
        ("127.0.0.1", "https,http", ""),
        ("127.0.0.1", "ftp", ""),
        ("127.0.0.1", "https\x00", ""),
    ],
)
def test_by_which_scheme(peer: str, header: str, scheme: str) -> None:
    assert scheme_of(peer, forwarded_proto=header, trusted=PROXIES) == scheme


def test_addresses_are_read_as_they_are_written_elsewhere() -> None:
    assert read_address(" 192.0.2.1 ") == ipaddress.ip_address("192.0.2.1")
    # RFC 4291, section 2.2: the same address in three ways.
    ways = (
        "2001:DB8:0:0:8:800:200C:417A",
        "2001:db8::8:800:200c:417a",
        "2001:db8::8:800:32.12.65.122",
    )
    assert len({read_address(way) for way in ways}) == 1
    assert read_address("[2001:db8::1]") is None


@pytest.fixture
def trusting(settings: LazySettings) -> None:
    """A house behind the proxies."""
    settings.ENVIRONMENT = replace(settings.ENVIRONMENT, proxies=PROXIES)


def passed(peer: str, *, secure: bool = False, **headers: str) -> HttpRequest:
    """Return a request as what stands behind the middleware sees it."""
    seen: list[HttpRequest] = []

    def answer(request: HttpRequest) -> HttpResponse:
        seen.append(request)
        return HttpResponse()

    request = RequestFactory().get("/", secure=secure, REMOTE_ADDR=peer)
    request.META |= {f"HTTP_{name}": value for name, value in headers.items()}
    ProxyMiddleware(answer)(request)
    return seen[0]


def test_a_trusted_proxy_says_who_and_how(trusting: None) -> None:
    request = passed("127.0.0.1", X_FORWARDED_FOR="203.0.113.9", X_FORWARDED_PROTO="https")
    assert (request.META["REMOTE_ADDR"], request.is_secure()) == ("203.0.113.9", True)
    request = passed("127.0.0.1", secure=True, X_FORWARDED_PROTO="http")
    assert not request.is_secure()


def test_anybody_else_is_not_heard(trusting: None) -> None:
    request = passed("203.0.113.9", X_FORWARDED_FOR="198.51.100.1", X_FORWARDED_PROTO="https")
    assert (request.META["REMOTE_ADDR"], request.is_secure()) == ("203.0.113.9", False)
    assert passed("203.0.113.9", secure=True, X_FORWARDED_PROTO="http").is_secure()


@pytest.mark.parametrize("peer", ["127.0.0.1", "203.0.113.9"])
def test_nothing_behind_it_can_believe_again(trusting: None, peer: str) -> None:
    claims = {name.removeprefix("HTTP_"): "198.51.100.1" for name in FORWARDING}
    request = passed(peer, secure=False, **claims)
    assert not [name for name in request.META if "FORWARDED" in name or "REAL_IP" in name]
    assert request.get_host() == "testserver"
    assert "X-Forwarded-For" not in request.headers


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::"),
        ("2001:db8:1:2::1", "2001:db8:1:2::"),
        ("2001:db8:1:3::1", "2001:db8:1:3::"),
        ("fe80::1%eth0", "fe80::"),
        ("", None),
        ("unix:", None),
        ("7K3-Q9F-N", None),
    ],
)
def test_what_counts_as_one_address(address: str, network: str | None) -> None:
    # RFC 3849 and RFC 5737 keep these addresses for examples; a subscriber of IPv6 is
    # given at least a /64 (RFC 6177).
    assert neighbourhood(address) == network
