"""The pages about people in a real browser: on a phone, at a desk, by thumb."""

from playwright.sync_api import Page, expect

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.people.actions.crew import change_person, deactivate
from fraginv.people.actions.invitations import invite
from tests.browsing import PASSWORD, assert_accessible, assert_fits, sign_in
from tests.conftest import People

NEW = "kettle violin moss"


def test_an_owner_sees_to_people_on_a_phone(live_page: Page, people: People) -> None:
    owner, grower = people[Role.OWNER], people[Role.GROWER]
    invite("Wilhelmina-Charlotte van Oosterhout-Lindqvist", role=Role.READER, email="", by=owner)
    deactivate(people[Role.SELLER].pk, by=owner)
    change_person(grower.pk, name="Joren", role=Role.GROWER, email="j@reef.example", by=owner)
    sign_in(live_page, Role.OWNER)
    for path in ("/people/", "/people/invite", f"/people/{grower.pk}", "/me", "/me/password"):
        live_page.goto(path)
        assert_accessible(live_page)
        assert_fits(live_page)

    live_page.goto(f"/people/{grower.pk}")
    live_page.get_by_role("button", name="Put out").click()
    live_page.get_by_role("button", name="Go back").click()
    assert Person.objects.get(pk=grower.pk).is_active
    live_page.get_by_role("button", name="Put out").click()
    live_page.get_by_role("dialog").get_by_role("button", name="Put out").click()
    expect(live_page.get_by_text("is put out and cannot sign in").first).to_be_visible()
    assert not Person.objects.get(pk=grower.pk).is_active
    assert_accessible(live_page)
    live_page.get_by_role("button", name="Let in again").click()
    expect(live_page.get_by_text("may sign in again")).to_be_visible()


def test_a_password_is_changed_and_this_visit_goes_on(desk_page: Page, people: People) -> None:
    sign_in(desk_page, Role.GROWER)
    desk_page.locator(".nav-side__foot > summary").click()
    desk_page.get_by_role("link", name="Test grower").first.click()
    assert_accessible(desk_page)
    desk_page.get_by_role("link", name="Change the password").click()
    desk_page.get_by_label("Present password").fill(PASSWORD)
    desk_page.get_by_label("New password").fill("short")
    desk_page.get_by_role("button", name="Change it").click()
    expect(desk_page.get_by_text("too short").first).to_be_visible()
    assert_accessible(desk_page)
    assert_fits(desk_page)
    desk_page.get_by_label("Present password").fill(PASSWORD)
    desk_page.get_by_label("New password").fill(NEW)
    desk_page.get_by_role("button", name="Change it").click()
    expect(desk_page.get_by_text("Your password is changed")).to_be_visible()
    assert people[Role.GROWER].name in desk_page.locator("h1").inner_text()
    assert Person.objects.get(username="grower").check_password(NEW)
