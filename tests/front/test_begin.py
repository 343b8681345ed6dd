"""The first-run page: by the link that start showed, good once, and nothing without it."""

from collections.abc import Callable, Iterator
from decimal import Decimal
from threading import Barrier

import pytest
from django.test import Client
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.errors import FraginvError
from fraginv.base.models import Organisation, Person
from fraginv.base.rules.roles import Role
from fraginv.front.beginning import link_file, make_link
from fraginv.trade.models import TaxRate
from tests.browsing import PASSWORD, assert_accessible, assert_fits
from tests.conftest import People
from tests.reading import words_on
from tests.together import together

pytestmark = pytest.mark.django_db
ANSWERS = {
    "name": "Tidewater Hall Aquarium",
    "currency": "usd",
    "zone": "America/New_York",
    "locale": "en_US",
    "paper": "letter",
    "label_host": "REEF.TEST",
    "percent": "6.25",
    "tax_name": "County tax",
    "owner": "Mira Holt",
    "password": PASSWORD,
}
ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def link() -> Iterator[str]:
    """A link as start shows it, without the host."""
    yield make_link("http://127.0.0.1:8000/").removeprefix("http://127.0.0.1:8000")
    link_file().unlink(missing_ok=True)


def test_the_house_is_set_up_once_and_its_owner_is_in(link: str, client: Client) -> None:
    page = client.get(link)
    assert page.status_code == 200
    assert "America/New_York" in page.content.decode()
    answer = client.post(link, ANSWERS)
    # A new owner is asked for a second step first, and may leave it for later.
    assert (answer.status_code, answer["Location"]) == (303, "/me/second-step?next=%2F")
    house, owner = Organisation.objects.get(), Person.objects.get()
    assert (house.name, house.currency, house.label_host) == (
        "Tidewater Hall Aquarium", "USD", "REEF.TEST",
    )  # fmt: skip
    assert (owner.username, owner.role) == ("mira.holt", Role.OWNER.value)
    tax = TaxRate.objects.get()
    assert (tax.rate, tax.name, tax.by) == (Decimal("0.0625"), "County tax", owner)
    assert "You sign in as mira.holt from now on" in words_on(client.get("/"))
    again = Client().get(link)
    assert again.status_code == 404
    assert "This link is not good" in words_on(again)
    assert not link_file().exists()


def test_without_the_link_nobody_founds_anything(link: str, client: Client) -> None:
    for token in ("x", "A" * 43, link.rpartition("/")[2][:-1]):
        assert client.post(f"/begin/{token}", ANSWERS).status_code == 404
    assert not Organisation.objects.exists()


def test_looking_uses_nothing_up(link: str, client: Client) -> None:
    for _ in range(3):
        assert client.get(link).status_code == 200
        assert client.head(link).status_code == 200
    assert client.post(link, ANSWERS).status_code == 303


def test_a_newer_link_ends_the_one_before(link: str, client: Client) -> None:
    make_link("http://127.0.0.1:8000/")
    assert client.get(link).status_code == 404


def test_in_a_house_that_is_set_up_no_link_is_good(
    link: str, people: People, client: Client
) -> None:
    assert client.get(link).status_code == 404
    assert client.post(link, ANSWERS).status_code == 404
    assert Person.objects.count() == len(Role)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"currency": "XXQ"}, "XXQ"),
        ({"zone": "Reef/Nowhere"}, "is no time zone"),
        ({"label_host": "https://reef.test/x"}, "host"),
        ({"password": "reef"}, "short"),
        ({"owner": "???"}, "gives no sign-in name"),
        ({"percent": "101"}, "100"),
        ({"name": ""}, "required"),
    ],
    ids=["currency", "zone", "host", "password", "owner", "tax", "name"],
)
@pytest.mark.django_db(transaction=True)
def test_what_cannot_be_is_said_and_nothing_is_written(
    link: str, client: Client, wrong: dict[str, str], said: str
) -> None:
    answer = client.post(link, ANSWERS | wrong)
    assert answer.status_code == 400
    assert said in words_on(answer)
    assert not Organisation.objects.exists()
    assert not Person.objects.exists()
    assert client.post(link, ANSWERS).status_code == 303


def test_without_tax_none_is_set(link: str, client: Client) -> None:
    client.post(link, ANSWERS | {"percent": ""})
    assert Organisation.objects.exists()
    assert not TaxRate.objects.exists()


def test_an_organisation_that_only_lacks_its_owner(
    link: str, organisation: Organisation, client: Client
) -> None:
    answer = client.post(link, ANSWERS | {"name": "Another"})
    assert answer.status_code == 303
    assert Organisation.objects.get().name == organisation.name
    assert Person.objects.get().role == Role.OWNER.value


def test_it_is_asked_only_who_owns_it(
    link: str, organisation: Organisation, client: Client
) -> None:
    page = client.get(link).content.decode()
    assert 'name="owner"' in page
    assert 'name="currency"' not in page
    answer = client.post(link, {"owner": "Mira Holt", "password": PASSWORD, "currency": "EUR"})
    assert answer.status_code == 303
    assert Organisation.objects.get().currency == organisation.currency


def test_somebody_who_left_keeps_the_name(
    link: str, organisation: Organisation, client: Client
) -> None:
    gone = add_person("mira.holt", name="Mira Holt", role=Role.OWNER, password=PASSWORD)
    Person.objects.filter(pk=gone.pk).update(is_active=False)
    answer = client.post(link, {"owner": "Mira Holt", "password": PASSWORD})
    assert answer.status_code == 400
    assert "The sign-in name mira.holt is taken" in words_on(answer)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("founded", [False, True], ids=["all", "owner"])
def test_of_two_at_once_one_sets_up_and_the_other_is_told(link: str, *, founded: bool) -> None:
    if founded:
        found_organisation("Quay", currency="USD", zone="Europe/London", label_host="REEF.TEST")
    starting = Barrier(2, timeout=20)

    def set_up(owner: str) -> tuple[int, str]:
        starting.wait()
        answer = Client().post(link, ANSWERS | {"owner": owner})
        return answer.status_code, words_on(answer)

    came = together(set_up, on=["Mira Holt", "Ines Varga"])
    told = [one for one in came if not isinstance(one, FraginvError) and one[0] != 303]
    assert len(told) == 1
    status, words = told[0]
    # Whoever came a little later still finds that the link is good no longer.
    assert (status, "Somebody else was quicker" in words) in {(409, True), (404, False)}
    assert Organisation.objects.count() == Person.objects.count() == 1


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("path", ["/", "/sign-in", "/frags", "/T/7K3Q9FN", "/organisation"])
def test_until_then_every_page_says_where_the_link_is(
    link: str, client: Client, path: str, method: str
) -> None:
    answer = getattr(client, method)(path)
    assert answer.status_code == 503
    words = words_on(answer)
    assert "This house is not set up yet" in words
    assert "in the terminal or in the log" in words
    assert link.rpartition("/")[2] not in answer.content.decode()


def test_health_is_told_all_the_same(client: Client) -> None:
    assert client.get("/healthz").json()["status"] in {"ok", "failing"}


def test_on_a_phone(link: str, browser_page: Page, live_server: LiveServer) -> None:
    browser_page.goto(f"{live_server.url}{link}")
    assert_accessible(browser_page)
    assert_fits(browser_page)
    for name, value in ANSWERS.items():
        field = browser_page.locator(f"[name={name}]").first
        if name == "locale" or name == "paper":
            field.select_option(value)
        else:
            field.fill(value)
    browser_page.get_by_role("button", name="Set up and come in").click()
    browser_page.get_by_role("button", name="Not now").click()
    browser_page.wait_for_url(f"{live_server.url}/")
    assert Organisation.objects.get().name == ANSWERS["name"]


@pytest.fixture
def browser_page(browser: object, transactional_db: None) -> Iterator[Page]:
    """A phone's page in a house that is not set up."""
    context = browser.new_context(  # type: ignore[attr-defined]
        viewport={"width": 390, "height": 844}, reduced_motion="reduce"
    )
    yield context.new_page()
    context.close()


def test_all_that_is_wrong_is_said_at_once_each_at_its_question(link: str, client: Client) -> None:
    wrong = {"currency": "XXQ", "zone": "New York", "label_host": "a b", "password": "Mira Holt 12"}
    words = words_on(client.post(link, ANSWERS | wrong))
    for said in ("XXQ is not a currency", "is no time zone", "is no host", "This password"):
        assert said in words
