"""The page that a link opens: for strangers, quiet, and never used up by looking."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django_otp.plugins.otp_totp.models import TOTPDevice
from playwright.sync_api import Page, expect

from fraginv.base import clock
from fraginv.base.logs import JsonFormatter, TextFormatter
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.invitations import Link, invite, offer_reset, withdraw
from fraginv.people.models import Invitation
from tests.browsing import PASSWORD, assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
NEW = "kettle violin moss"
SENT = {"username": "ines", "password": NEW}


@pytest.fixture
def link(people: People) -> Link:
    """A link for a reader to be."""
    return invite("Ines Varga", role=Role.READER, email="", by=people[Role.OWNER])


def test_looking_uses_nothing_up(link: Link) -> None:
    """Scanners of mail open every link, and some ask for headers alone or for what is allowed."""
    stranger = Client()
    for method in ("GET", "HEAD", "OPTIONS", "GET"):
        assert stranger.generic(method, link.path).status_code == 200
    page = words_on(stranger.get(link.path))
    for words in ("Welcome, Ines Varga", "Test owner invites you", "reader", "changes nothing"):
        assert words in page
    assert "see running costs, the month and the ledger" in page
    assert 'value="ines.varga"' in stranger.get(link.path).content.decode()
    assert Invitation.objects.get().used_at is None
    assert stranger.post(link.path, SENT).status_code == 303


def test_whoever_comes_in_is_in_and_the_link_is_used(link: Link) -> None:
    stranger = Client()
    answer = stranger.post(link.path, SENT)
    assert answer.status_code == 303
    assert stranger.get("/trade/sales").status_code == 200
    assert stranger.get("/people/").status_code == 403
    later = Client().get(link.path)
    assert later.status_code == 410
    assert "was used already" in words_on(later)
    assert Client().post(link.path, SENT | {"username": "eve"}).status_code == 410


def test_dead_links_tell_strangers_no_names(people: People) -> None:
    by = people[Role.OWNER]
    with clock.at(datetime.now(UTC) - timedelta(days=8)):
        late = invite("Ines Varga", role=Role.OWNER, email="", by=by)
    gone = invite("Ines Varga", role=Role.OWNER, email="", by=by)
    withdraw(gone.invitation.pk, by=by)
    for path, status, words in [
        (late.path, 410, "too old"),
        (gone.path, 410, "withdrawn"),
        ("/join/" + "x" * 43, 404, "leads nowhere"),
        ("/join/x", 404, "leads nowhere"),
        ("/join/ünïcödé", 404, "leads nowhere"),
    ]:
        for answer in (Client().get(path), Client().post(path, SENT)):
            assert answer.status_code == status
            page = words_on(answer)
            assert words in page
            assert "ask" in page.lower()
            for name in ("Ines", "Varga", "Test owner"):
                assert name not in page


def test_the_address_goes_nowhere(link: Link) -> None:
    for path in (link.path, "/join/x"):
        answer = Client().get(path)
        assert answer["Referrer-Policy"] == "strict-origin"
        assert "noindex" in answer["X-Robots-Tag"]
        assert "no-store" in answer["Cache-Control"]
        # Nothing on the page leads to or loads from another site.
        assert "//" not in answer.content.decode().replace("http://www.w3.org/2000/svg", "")


@pytest.mark.django_db(transaction=True)
def test_what_will_not_do_is_said_and_the_link_stays(link: Link) -> None:
    stranger = Client()
    refusals: list[tuple[dict[str, str], str]] = [
        ({"username": "grower"}, "is taken"),
        ({"username": ""}, "This field is required"),
        ({"password": ""}, "This field is required"),
        ({"password": "short"}, "too short"),
        ({"password": "ines-varga-12"}, "little more than a name"),
        ({"password": "x" * 201}, "at most 200 characters"),
    ]
    for changes, said in refusals:
        answer = stranger.post(link.path, SENT | changes)
        assert answer.status_code == 400
        assert said in words_on(answer)
    assert Person.objects.count() == len(Role)
    assert stranger.post(link.path, SENT).status_code == 303


def test_a_password_is_taken_as_it_is(link: Link) -> None:
    """Spaces at its ends and 64 characters and more count (OWASP ASVS 5.0, 6.2.8 and 6.2.9)."""
    long = " kettle " + "violin moss " * 15
    assert Client().post(link.path, SENT | {"password": long}).status_code == 303
    door = {"username": "ines", "password": long}
    assert Client().post("/sign-in", door).status_code == 303
    assert Client().post("/sign-in", door | {"password": long.strip()}).status_code == 400


def test_a_reset_asks_for_the_password_alone(people: People) -> None:
    link = offer_reset(people[Role.SELLER].pk, by=people[Role.OWNER])
    stranger = Client()
    page = stranger.get(link.path).content.decode()
    assert 'value="seller"' in page  # for the browser's memory of passwords
    assert stranger.post(link.path, {"username": "owner", "password": NEW}).status_code == 303
    assert Person.objects.get(username="seller").check_password(NEW)
    assert Person.objects.get(username="owner").check_password(PASSWORD)


def test_a_reset_does_not_pass_by_the_second_step(people: People) -> None:
    """OWASP ASVS 5.0, 6.4.3."""
    manager = people[Role.MANAGER]
    TOTPDevice.objects.create(user=manager, name="phone", confirmed=True)
    link = offer_reset(manager.pk, by=people[Role.OWNER])
    stranger = Client()
    answer = stranger.post(link.path, {"password": NEW})
    assert (answer.status_code, answer["Location"]) == (303, "/sign-in/code")
    assert stranger.get("/trade/sales").status_code == 302


def test_whoever_showed_the_link_on_this_phone_is_signed_out(
    link: Link, client_for: ClientFor
) -> None:
    phone = client_for(Role.OWNER)
    assert "Test owner is signed in here" in words_on(phone.get(link.path))
    assert phone.post(link.path, SENT).status_code == 303
    assert phone.get("/people/").status_code == 403  # the reader's, not the owner's
    assert phone.get("/me").context["person"].username == "ines"


def test_a_person_is_invited_and_comes_in_on_another_phone(
    live_page: Page, desk_page: Page, people: People
) -> None:
    sign_in(desk_page, Role.OWNER)
    desk_page.goto("/people/invite")
    assert_accessible(desk_page)
    desk_page.get_by_label("Name").fill("Ines Varga")
    desk_page.get_by_label("seller:").check()
    desk_page.get_by_role("button", name="Make the link").click()
    expect(desk_page.get_by_role("img", name="QR symbol of the link")).to_be_visible()
    assert_accessible(desk_page)
    assert_fits(desk_page)
    desk_page.get_by_role("button", name="Copy").click()
    expect(desk_page.get_by_role("button", name="Copied")).to_be_visible()
    address = desk_page.get_by_role("textbox", name="The link").input_value()
    find = desk_page.get_by_role("combobox", name="Find a code").first
    find.press("Control+V")
    expect(find).to_have_value(address)

    live_page.goto(address)
    assert_accessible(live_page)
    assert_fits(live_page)
    box = live_page.get_by_label("Password")
    box.fill(NEW)
    show = live_page.get_by_role("button", name="Show")
    expect(box).to_have_attribute("type", "password")
    show.click()
    expect(box).to_have_attribute("type", "text")
    expect(box).to_have_value(NEW)
    live_page.get_by_role("button", name="Come in").click()
    live_page.wait_for_url("**/")
    expect(live_page.locator("main")).to_be_visible()
    assert Person.objects.get(username="ines.varga").role == Role.SELLER
    live_page.goto(address)
    assert "used already" in live_page.locator("main").inner_text()
    assert_accessible(live_page)


def test_the_token_stands_in_no_log(link: Link, caplog: pytest.LogCaptureFixture) -> None:
    stranger = Client()
    for answer in (
        stranger.get(link.path),
        stranger.post(link.path, SENT | {"username": "grower"}),
        Client().get(link.path),
    ):
        assert answer.status_code in {200, 400, 410}
    written = [JsonFormatter().format(record) for record in caplog.records]
    said = "\n".join(written + [TextFormatter().format(record) for record in caplog.records])
    assert said.count('"page": "people:accept"') == 3  # by the name of the page alone
    assert link.token not in said
    assert NEW not in said
