"""Strangers look up as much as a crowd needs; the crew as much as it wants."""

from collections.abc import Callable

import pytest
from django.test import Client

from fraginv.base.rules.codes import address_path
from fraginv.base.rules.roles import Role
from fraginv.base.throttle import ALLOWANCE, MISS
from fraginv.front.access import ACCESS, PUBLIC
from fraginv.growth.actions.photos import file_photo
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.factories import make_lot

ClientFor = Callable[[Role | None], Client]
pytestmark = pytest.mark.usefixtures("frozen")  # one minute's allowance
UNKNOWN = "/T/7K3Q9FN"
# Public pages that look nothing up, or have a limit of their own.
OTHERWISE = {
    "people:sign_in": "wrong passwords are counted for themselves",
    "people:second": "needs a right password before it, and counts wrong codes",
    "people:change": "shows what this browser's own cookie knows",
    "people:take": "counts wrong numbers for each phone",
    "people:forget": "changes what this browser's own cookie knows",
    "upkeep:health": "says one word",
    "front:begin": "there is nothing to find before the first run",
}


@pytest.fixture
def lot(people: People) -> Frag:
    """A lot with a label."""
    return make_lot(people[Role.GROWER], 5)


def use_up(client: Client) -> None:
    for _ in range(ALLOWANCE // MISS):
        assert client.get(UNKNOWN).status_code == 404


def test_codes_cannot_be_tried_out(client_for: ClientFor, lot: Frag) -> None:
    stranger = client_for(None)
    use_up(stranger)
    answer = stranger.get(address_path(lot.code_id))
    assert answer.status_code == 429
    assert answer["Retry-After"] == "60"
    assert "Wait 60 seconds and open it again" in answer.content.decode()
    assert client_for(Role.READER).get(UNKNOWN).status_code == 404
    assert client_for(Role.GROWER).get(address_path(lot.code_id)).status_code == 200
    other = client_for(None)
    assert other.get(address_path(lot.code_id), REMOTE_ADDR="192.0.2.9").status_code == 200


def test_what_anybody_says_of_a_proxy_is_not_believed(client_for: ClientFor, lot: Frag) -> None:
    stranger = client_for(None)
    use_up(stranger)
    for header in ("x-forwarded-for", "x-real-ip", "forwarded", "client-ip"):
        assert stranger.get(UNKNOWN, headers={header: "192.0.2.44"}).status_code == 429


def test_pictures_go_with_their_pages(client_for: ClientFor, lot: Frag, people: People) -> None:
    photo = file_photo(lot, data=make_picture(), by=people[Role.GROWER])
    path, stranger = f"/photos/{photo.pk}-{photo.mark}/240.jpg", client_for(None)
    for _ in range(ALLOWANCE + 5):
        assert stranger.get(path).status_code == 200
    for number in range(ALLOWANCE // MISS):
        wrong = f"/photos/{photo.pk}-{number:016x}/240.jpg"
        assert stranger.get(wrong).status_code == 404
    assert stranger.get(path).status_code == 429


def test_every_public_page_has_a_limit_or_a_reason(client_for: ClientFor, lot: Frag) -> None:
    public = {page for page, row in ACCESS.items() if PUBLIC in row.values()}
    counted = {"front:code", "growth:photo", "people:accept"}
    assert public <= counted | OTHERWISE.keys(), public - counted - OTHERWISE.keys()
    if "people:accept" in public:
        stranger = client_for(None)
        for _ in range(ALLOWANCE // MISS):
            assert stranger.get(f"/join/{'x' * 43}").status_code in {404, 410}
        assert stranger.get(f"/join/{'x' * 43}").status_code == 429
