"""Where the pages are served, as it is written on the command line."""

import pytest

from fraginv.base.errors import InputError
from fraginv.front.rules.places import Place, place_of


@pytest.mark.parametrize(
    ("listen", "port", "bind", "url"),
    [
        ("", None, "127.0.0.1:8000", "http://127.0.0.1:8000/"),
        ("", 8765, "127.0.0.1:8765", "http://127.0.0.1:8765/"),
        ("192.0.2.21", None, "192.0.2.21:8000", "http://192.0.2.21:8000/"),
        ("192.0.2.21", 80, "192.0.2.21:80", "http://192.0.2.21:80/"),
        ("192.0.2.21:81", None, "192.0.2.21:81", "http://192.0.2.21:81/"),
        ("0.0.0.0", None, "0.0.0.0:8000", "http://reef.example:8000/"),
        ("[::1]:82", None, "[::1]:82", "http://[::1]:82/"),
        ("unix:/run/x.sock", None, "unix:/run/x.sock", "http://reef.example/"),
    ],
)
def test_places(listen: str, port: int | None, bind: str, url: str) -> None:
    place = place_of(listen, port=port)
    assert (place.bind, place.url("reef.example", https=False)) == (bind, url)
    assert place.url("reef.example", https=True) == "https://reef.example/"


@pytest.mark.parametrize(
    ("listen", "port", "said"),
    [
        ("", 0, "0 is no port"),
        ("", 65536, "65536 is no port"),
        ("192.0.2.21:99999", None, "99999 is no port"),
        ("192.0.2.21:81", 82, "both give a port"),
        ("reef.example", None, "is no address"),
        ("300.1.1.1", None, "is no address"),
        ("::1", None, "is no address"),
        ("[::1", None, "is no address"),
        ("unix:/run/x.sock", 80, "has no port"),
        ("unix:x.sock", None, "from the root"),
        ("unix:/" + "x" * 107, None, "107 bytes"),
    ],
)
def test_no_places(listen: str, port: int | None, said: str) -> None:
    with pytest.raises(InputError, match=said):
        place_of(listen, port=port)


@pytest.mark.parametrize(
    ("listen", "loopback"),
    [("", True), ("127.0.0.9", True), ("[::1]", True), ("unix:/x", True), ("0.0.0.0", False)],
)
def test_who_can_reach_it(listen: str, loopback: bool) -> None:
    assert place_of(listen, port=None).is_loopback is loopback
    assert Place().is_loopback
