"""Scans that wait on the phone: kept without a network, sent once and in order, settled by hand."""

import json
import re
import time
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frag, make_frags, make_lot, make_rack
from tests.front.test_browser_scan import done, said, scan

pytestmark = pytest.mark.browser
SOON_MS = 15_000
KEPT = "Object.entries(localStorage).filter(([name]) => name.startsWith('scan '))"


@pytest.fixture
def phone(live_page: Page, people: People) -> Page:
    sign_in(live_page, Role.GROWER)
    return live_page


def kept(page: Page) -> list[dict[str, Any]]:
    """Return what the phone keeps, the oldest scan first."""
    scans = [json.loads(text) for _, text in page.evaluate(KEPT)]
    return sorted(scans, key=lambda one: one["at"])


def waits(page: Page, count: int) -> None:
    """Expect the page to say how many scans wait, or nothing of it."""
    panel = page.locator("[data-scan-away]")
    if count == 0:
        expect(panel).to_be_hidden(timeout=SOON_MS)
    else:
        words = "1 scan waits" if count == 1 else f"{count} scans wait"
        expect(panel).to_contain_text(words, timeout=SOON_MS)


def keeps_nothing(page: Page) -> None:
    """Expect the phone to keep no scan any more, soon."""
    until = time.monotonic() + SOON_MS / 1000
    while kept(page) and time.monotonic() < until:
        page.wait_for_timeout(100)
    assert kept(page) == []


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def events(kind: str) -> list[FragEvent]:
    return list(FragEvent.objects.filter(kind=kind).order_by("at"))


def test_what_is_scanned_without_a_network_is_sent_when_it_is_back(
    phone: Page, people: People
) -> None:
    grower = people[Role.GROWER]
    rack, frags, lot = make_rack(grower), make_frags(grower, 3), make_lot(grower, 5)
    phone.goto("/scan?do=move")
    phone.context.set_offline(True)
    scan(phone, rack.code_id)
    for frag in frags:
        scan(phone, frag.code_id)
    expect(said(phone)).to_contain_text("Kept on this phone until it can be sent.")
    phone.get_by_role("link", name="Loss").click()
    phone.locator("label", has_text="Fell").click()
    scan(phone, show_code(lot.code_id))
    waits(phone, 4)
    judge(phone)
    assert [one["code"] for one in kept(phone)] == [*(f.code_id for f in frags), lot.code_id]
    # Codes, act, what was chosen, the person's number and the moment; nothing else.
    names = {name for one in kept(phone) for name in one}
    assert names == {"key", "person", "act", "code", "at", "rack", "cause"}
    assert not events("placed")

    phone.context.set_offline(False)
    waits(phone, 0)
    expect(done(phone)).to_have_count(4)
    assert kept(phone) == []
    placed = events("placed")
    assert [event.frag_id for event in placed] == [frag.pk for frag in frags]
    assert all(event.at < event.recorded_at for event in placed)
    assert Frag.objects.get(pk=lot.pk).pieces == 4
    assert list(stock_differences()) == []


def test_an_answer_that_is_lost_does_nothing_twice(phone: Page, people: People) -> None:
    lot = make_lot(people[Role.GROWER], 9)
    lost: list[int] = []

    def lose_answer(route: Route) -> None:
        answer = route.fetch()
        if len(lost) < 2:
            lost.append(answer.status)
            route.abort("connectionreset")
        else:
            route.fulfill(response=answer)

    phone.route("**/scan/lose", lose_answer)
    phone.goto("/scan?do=lose&cause=fell")
    scan(phone, lot.code_id)
    waits(phone, 1)
    expect(done(phone)).to_have_count(1, timeout=30_000)
    expect(said(phone)).to_contain_text("1 piece written off: Fell. 8 left of this lot.")
    assert lost == [200, 200]
    assert Frag.objects.get(pk=lot.pk).pieces == 8
    waits(phone, 0)


def test_what_waits_outlives_the_page(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.route("**/scan/seen", lambda route: route.abort())
    phone.goto("/scan?do=seen")
    scan(phone, frag.code_id)
    waits(phone, 1)
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.goto("/frags")
    phone.unroute("**/scan/seen")
    assert len(kept(phone)) == 1
    phone.goto("/scan")
    expect(done(phone)).to_have_count(1, timeout=SOON_MS)
    assert len(events("inspected")) == 1


def test_what_no_longer_fits_is_settled_by_hand(phone: Page, people: People) -> None:
    grower, other = people[Role.GROWER], people[Role.OWNER]
    here, there = make_rack(grower), make_rack(grower)
    first, second, third = make_frags(grower, 3)
    phone.goto(f"/scan?do=move&rack={here.code_id}")
    phone.context.set_offline(True)
    for frag in (first, second, third):
        scan(phone, frag.code_id)
    waits(phone, 3)
    phone.wait_for_timeout(50)
    place_frags([first.pk, second.pk], rack=there, by=other)
    phone.context.set_offline(False)
    settle = phone.locator("[data-scan-settle-list] li")
    expect(settle).to_have_count(2, timeout=SOON_MS)
    expect(settle.first).to_contain_text(f"placed by {other.name}")
    expect(settle.first).to_contain_text(f"Move here: {here}")
    expect(settle.first.get_by_role("link")).to_have_attribute("href", f"/T/{first.code_id}")
    judge(phone)
    assert Frag.objects.get(pk=third.pk).rack == here
    assert [one["settle"] for one in kept(phone)] == [True, True]
    assert other.name not in json.dumps(kept(phone))

    phone.reload()
    expect(settle.first).to_contain_text("It was refused. Try it now to read why.")
    settle.first.get_by_role("button", name="Do it now").click()
    expect(settle).to_have_count(1)
    expect(done(phone)).to_have_count(1)
    settle.first.get_by_role("button", name="Drop it").click()
    expect(phone.locator("[data-scan-settle]")).to_be_hidden()
    judge(phone)
    assert kept(phone) == []
    assert Frag.objects.get(pk=first.pk).rack == here
    assert Frag.objects.get(pk=second.pk).rack == there


def test_two_tabs_send_one_queue_once(phone: Page, people: People) -> None:
    lot, frag = make_lot(people[Role.GROWER], 9), make_frag(people[Role.GROWER])
    phone.goto("/scan?do=lose&cause=fell")
    other = phone.context.new_page()
    other.goto("/scan?do=seen")
    phone.context.set_offline(True)
    scan(phone, lot.code_id)
    scan(other, frag.code_id)
    for page in (phone, other):
        waits(page, 2)
    phone.context.set_offline(False)
    for page in (phone, other):
        waits(page, 0)
    keeps_nothing(phone)
    assert Frag.objects.get(pk=lot.pk).pieces == 8
    assert len(events("inspected")) == 1
    assert list(stock_differences()) == []


def plant(page: Page, scans: list[dict[str, Any]]) -> None:
    """Let the phone keep scans, as if they had been made on it."""
    script = "scans => scans.forEach(s => localStorage.setItem(`scan ${s.key}`, JSON.stringify(s)))"
    page.evaluate(script, scans)


def planted(person: Person, code: str, *, number: int, at: int) -> dict[str, Any]:
    key = f"00000000-0000-4000-8000-{number:012d}"
    return {"key": key, "person": person.pk, "act": "seen", "code": code, "at": at}


def test_another_persons_queue_is_left_to_them(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.OWNER])
    phone.goto("/scan")
    now = phone.evaluate("Date.now()")
    plant(phone, [planted(people[Role.OWNER], frag.code_id, number=1, at=now)])
    phone.reload()
    note = phone.locator("[data-scan-others]")
    expect(note).to_contain_text("1 scan waits on this phone for somebody else.")
    judge(phone)
    scan(phone, frag.code_id)
    expect(done(phone)).to_have_count(1)
    assert len(kept(phone)) == 1
    assert not events("inspected")
    phone.locator("[data-leaves] button").last.dispatch_event("click")
    phone.wait_for_url(re.compile("/sign-in"))
    assert len(kept(phone)) == 1  # whoever signs out takes along only what is their own
    sign_in(phone, Role.OWNER)
    phone.goto("/scan")
    expect(done(phone)).to_have_count(1, timeout=SOON_MS)
    assert [event.by for event in events("inspected")] == [people[Role.OWNER]]


def test_scans_that_are_too_old_or_not_yet_are_settled(phone: Page, people: People) -> None:
    grower = people[Role.GROWER]
    old, early = make_frags(grower, 2)
    phone.goto("/scan")
    now, day = phone.evaluate("Date.now()"), 24 * 3600 * 1000
    plant(
        phone,
        [
            planted(grower, old.code_id, number=1, at=now - 8 * day),
            planted(grower, early.code_id, number=2, at=now + day),
        ],
    )
    phone.reload()
    settle = phone.locator("[data-scan-settle-list] li")
    expect(settle).to_have_count(2, timeout=SOON_MS)
    expect(settle.nth(0)).to_contain_text("waited more than 7 days")
    expect(settle.nth(1)).to_contain_text("still to come")
    settle.nth(0).get_by_role("button", name="Do it now").click()
    expect(done(phone)).to_have_count(1)
    assert [event.frag_id for event in events("inspected")] == [old.pk]


def test_a_phone_whose_clock_is_wrong_tells_the_right_moment(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    # The phone's clock also says when the page arrived.
    phone.add_init_script("""
      const off = 5 * 3600 * 1000, now = Date.now, origin = performance.timeOrigin;
      Date.now = () => now() + off;
      Object.defineProperty(performance, "timeOrigin", { value: origin + off });
    """)
    phone.goto("/scan?do=seen")
    scan(phone, frag.code_id)
    expect(said(phone)).to_contain_text("Seen, fine.")
    (event,) = events("inspected")
    assert abs((event.recorded_at - event.at).total_seconds()) < 30


def test_a_visit_that_ended_keeps_what_was_scanned(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.goto("/scan?do=seen")
    phone.context.clear_cookies()
    scan(phone, frag.code_id)
    panel = phone.locator("[data-scan-away]")
    expect(panel).to_contain_text("Open this page again")
    assert len(kept(phone)) == 1
    sign_in(phone, Role.GROWER)
    phone.goto("/scan")
    expect(done(phone)).to_have_count(1, timeout=SOON_MS)
    assert len(events("inspected")) == 1


def test_signing_out_asks_before_what_waits_is_thrown_away(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.goto("/frags")
    plant(phone, [planted(people[Role.GROWER], frag.code_id, number=1, at=1)])
    leave = phone.locator("[data-leaves] button").last
    leave.dispatch_event("click")
    dialog = phone.get_by_role("dialog")
    expect(dialog).to_contain_text(
        "1 scan waits on this phone and was not sent. Sign out and throw it away?"
    )
    judge(phone)
    dialog.get_by_role("button", name="Go back").click()
    assert len(kept(phone)) == 1
    leave.dispatch_event("click")
    dialog.get_by_role("button", name="Sign out").click()
    phone.wait_for_url(re.compile("/sign-in"))
    assert kept(phone) == []
    assert not events("inspected")


def test_a_browser_that_keeps_nothing_says_so(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    phone.goto("/scan?do=seen")
    phone.context.set_offline(True)
    scan(phone, frag.code_id)
    expect(phone.locator("[data-scan-why]")).to_contain_text("leave this page open until all is")
    phone.context.set_offline(False)
    expect(done(phone)).to_have_count(1, timeout=SOON_MS)


def test_looking_up_needs_the_network(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.goto("/scan")
    phone.context.set_offline(True)
    scan(phone, frag.code_id)
    expect(said(phone)).to_contain_text("Without the network it cannot be looked up.")
    scan(phone, "7K3-Q9F-X")
    expect(said(phone)).to_contain_text("A character in 7K3-Q9F-X is wrong")
    assert kept(phone) == []
