"""Scans that waited: each once, as of their own moment, and never over what came later."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base import clock
from fraginv.base.models import Code, Person, ReplayKey
from fraginv.base.queries.organisation import organisation
from fraginv.base.queries.tallies import tallies_of_month
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.base.show import show_moment
from fraginv.labels.models import LostLabel
from fraginv.stock.actions.care import relabel_frag
from fraginv.stock.actions.counting import found_again
from fraginv.stock.actions.grading import grade_frags, mark_healed
from fraginv.stock.actions.looks import mark_seen, mark_wrong
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag, Loss
from fraginv.stock.queries.differences import stock_differences
from tests.conftest import People
from tests.factories import make_frag, make_lot, make_rack
from tests.front.scans import JSON, kinds, last_event, sent, told

ClientFor = Callable[[Role | None], Client]
# A Wednesday: 21:30 in New York, where it is the 25th until 05:00 UTC.
NOW = datetime(2026, 11, 26, 2, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _evening() -> Iterator[None]:
    with clock.at(NOW):
        yield


@pytest.fixture
def phone(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


def ago(**span: float) -> str:
    """Return a moment before now as a phone writes it."""
    moment = NOW - timedelta(**span)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def test_a_scan_keeps_its_own_moment_and_day(phone: Client, grower: Person) -> None:
    with clock.at(NOW - timedelta(days=5)):
        frag = make_frag(grower)
    told(sent(phone, "lose", frag.code_id, cause="fell", at=ago(hours=22)))
    event = last_event(frag)
    assert event.at == NOW - timedelta(hours=22)
    assert event.recorded_at == NOW
    assert (event.day, event.month) == (date(2026, 11, 24), 202611)
    found = Frag.objects.get(pk=frag.pk)
    assert (found.ended_on, Loss.objects.get(frag=frag).day) == (date(2026, 11, 24),) * 2
    assert list(stock_differences()) == []


@pytest.mark.parametrize(
    ("at", "status", "words"),
    [
        ("", 200, ""),
        (ago(minutes=-1), 200, ""),  # the page's clock is some seconds off
        (ago(days=6, hours=23), 200, ""),
        (ago(minutes=-3), 400, "this scan is still to come"),
        (ago(days=7, seconds=1), 409, "waited more than 7 days"),
        ("yesterday", 400, "yesterday is no moment. Scan it again."),
        ("2026-11-25T10:00:00", 400, "has no time zone"),
    ],
)
def test_moments_that_are_taken_and_those_that_are_not(
    phone: Client, grower: Person, at: str, status: int, words: str
) -> None:
    with clock.at(NOW - timedelta(days=8)):
        frag = make_frag(grower)
    answer = told(sent(phone, "seen", frag.code_id, at=at), status)
    assert words in answer.get("message", "")
    assert (kinds(frag) == ["cut", "inspected"]) == (status == 200)
    assert last_event(frag).at <= NOW


def test_the_same_scan_again_is_done_once_and_told_alike(phone: Client, grower: Person) -> None:
    lot, key, at = make_lot(grower, 5), str(uuid4()), ago(minutes=3)
    answers = [
        phone.post(
            "/scan/lose",
            {"code": lot.code_id, "cause": "fell", "at": at, "replay_key": key},
            headers=JSON,
            follow=True,
        )
        for _ in range(3)
    ]
    assert [told(answer) for answer in answers] == [told(answers[0])] * 3
    assert told(answers[0])["said"] == "1 piece written off: Fell. 4 left of this lot."
    assert Frag.objects.get(pk=lot.pk).pieces == 4
    assert ReplayKey.objects.count() == 1


def test_a_key_is_for_one_scan_and_one_person(
    phone: Client, client_for: ClientFor, grower: Person
) -> None:
    lot, key = make_lot(grower, 5), str(uuid4())
    told(sent(phone, "lose", lot.code_id, cause="fell", at=ago(minutes=3), replay_key=key))
    later = sent(phone, "lose", lot.code_id, cause="fell", at=ago(minutes=1), replay_key=key)
    other = sent(client_for(Role.OWNER), "lose", lot.code_id, cause="fell", replay_key=key)
    for answer, words in ((later, "with other content"), (other, "by somebody else")):
        refusal = told(answer, 409)
        assert refusal["code"] == "conflict"
        assert f"This was sent before {words}, and only that is done." in refusal["message"]
    assert Frag.objects.get(pk=lot.pk).pieces == 4


def test_a_refused_scan_may_be_tried_again_with_its_key(phone: Client, grower: Person) -> None:
    frag, key = make_frag(grower), str(uuid4())
    told(sent(phone, "seen", frag.code_id, at=ago(days=8), replay_key=key), 409)
    told(sent(phone, "seen", frag.code_id, at=ago(), replay_key=key))
    assert kinds(frag) == ["cut", "inspected"]


def test_what_somebody_else_scanned_is_not_sent_in_ones_name(
    phone: Client, people: People, grower: Person
) -> None:
    frag = make_frag(grower)
    answer = told(sent(phone, "seen", frag.code_id, person=people[Role.OWNER].pk), 409)
    assert answer["code"] == "other_person"
    assert "when they sign in on this phone" in answer["message"]
    told(sent(phone, "seen", frag.code_id, person=grower.pk))
    assert kinds(frag) == ["cut", "inspected"]


def test_a_queue_out_of_order_leaves_the_last_place(phone: Client, grower: Person) -> None:
    first, second = make_rack(grower), make_rack(grower)
    with clock.at(NOW - timedelta(days=1)):
        frag = make_frag(grower)
    told(sent(phone, "move", frag.code_id, rack=second.code_id, at=ago(minutes=4)))
    late = told(sent(phone, "move", frag.code_id, rack=first.code_id, at=ago(minutes=9)), 409)
    assert late["code"] == "overtaken"
    moment = show_moment(NOW - timedelta(minutes=4), organisation())
    assert late["message"] == (
        f"{show_code(frag.code_id)} was placed by {grower.name} on {moment}, after this scan. "
        "Look at the piece, then do it now or drop it."
    )
    assert Frag.objects.get(pk=frag.pk).rack == second
    told(sent(phone, "move", frag.code_id, rack=first.code_id, at=ago()))
    assert Frag.objects.get(pk=frag.pk).rack == first
    assert list(stock_differences()) == []


@pytest.mark.parametrize(
    ("act", "meanwhile", "taken"),
    [
        ("seen", "seen", True),
        ("seen", "wrong", False),
        ("seen", "placed", True),
        ("move", "seen", True),
        ("move", "graded", True),
        ("move", "placed", False),
        ("ready", "seen", True),
        ("ready", "healed", False),
        ("ready", "graded", False),
        ("ready", "placed", True),
        ("lose", "seen", False),
        ("lose", "placed", False),
        ("lose", "graded", False),
    ],
)
def test_what_overtakes_what(
    phone: Client, grower: Person, act: str, meanwhile: str, *, taken: bool
) -> None:
    with clock.at(NOW - timedelta(days=1)):
        frag, rack, other = make_frag(grower), make_rack(grower), make_rack(grower)
    with clock.at(NOW - timedelta(minutes=5)):
        deeds: dict[str, Callable[[], object]] = {
            "seen": lambda: mark_seen([frag.pk], by=grower),
            "wrong": lambda: mark_wrong([frag.pk], wrong="algae", by=grower),
            "placed": lambda: place_frags([frag.pk], rack=other, by=grower),
            "graded": lambda: grade_frags([frag.pk], size="L", by=grower),
            "healed": lambda: mark_healed([frag.pk], by=grower),
        }
        deeds[meanwhile]()
    chosen = {"move": {"rack": rack.code_id}, "ready": {"size": "S"}, "lose": {"cause": "pest"}}
    answer = sent(phone, act, frag.code_id, at=ago(minutes=9), **chosen.get(act, {}))
    assert answer.status_code == (200 if taken else 409)
    assert (len(kinds(frag)) == 3) == taken
    assert list(stock_differences()) == []


def test_lost_pieces_of_a_lot_are_overtaken_by_nothing(phone: Client, grower: Person) -> None:
    with clock.at(NOW - timedelta(days=1)):
        lot = make_lot(grower, 5)
    with clock.at(NOW - timedelta(minutes=5)):
        mark_seen([lot.pk], by=grower)
        record_loss(lot.pk, pieces=1, cause="pest", by=grower)
    told(sent(phone, "lose", lot.code_id, cause="fell", at=ago(minutes=9)))
    assert Frag.objects.get(pk=lot.pk).pieces == 3
    assert list(stock_differences()) == []


def test_a_loss_of_an_earlier_day_than_the_last_that_is_known_of_a_lot(
    phone: Client, grower: Person
) -> None:
    with clock.at(NOW - timedelta(days=4)):
        lot = make_lot(grower, 5)
    with clock.at(NOW - timedelta(hours=3)):
        found_again(lot.pk, pieces=2, by=grower)
    late = told(sent(phone, "lose", lot.code_id, cause="fell", at=ago(days=1)), 409)
    assert late["code"] == "overtaken"
    assert "was found by" in late["message"]
    told(sent(phone, "lose", lot.code_id, cause="fell", at=ago(hours=4)))
    assert Frag.objects.get(pk=lot.pk).pieces == 6
    assert list(stock_differences()) == []


def test_what_takes_back_is_overtaken_too(phone: Client, grower: Person) -> None:
    with clock.at(NOW - timedelta(days=1)):
        frag, lot = make_frag(grower, ready=True), make_lot(grower, 5)
    with clock.at(NOW - timedelta(minutes=8)):
        loss = record_loss(lot.pk, pieces=1, cause="fell", by=grower)
    with clock.at(NOW - timedelta(minutes=5)):
        grade_frags([frag.pk], size="L", by=grower)
        found_again(lot.pk, by=grower)
    late = told(sent(phone, "unready", frag.code_id, at=ago(minutes=6)), 409)
    assert (late["code"], "was graded by" in late["message"]) == ("overtaken", True)
    late = told(sent(phone, "unlose", lot.code_id, loss=loss.pk, at=ago(minutes=6)), 409)
    assert (late["code"], "was found by" in late["message"]) == ("overtaken", True)
    assert (Frag.objects.get(pk=frag.pk).stage, Frag.objects.get(pk=lot.pk).pieces) == ("ready", 5)
    told(sent(phone, "unready", frag.code_id, at=ago()))
    assert Frag.objects.get(pk=frag.pk).stage == "growing"


def test_what_ended_meanwhile_is_to_be_settled(phone: Client, grower: Person) -> None:
    with clock.at(NOW - timedelta(days=1)):
        frag = make_frag(grower)
    with clock.at(NOW - timedelta(minutes=5)):
        record_loss(frag.pk, pieces=1, cause="pest", by=grower)
    for act, chosen in (("seen", {}), ("ready", {"size": "M"}), ("lose", {"cause": "fell"})):
        answer = sent(phone, act, frag.code_id, at=ago(minutes=9), **chosen)
        assert answer.status_code in {400, 409}
        assert show_code(frag.code_id) in answer.json()["message"]
    assert kinds(frag) == ["cut", "lost"]


def test_a_label_that_was_printed_meanwhile_is_not_lost(phone: Client, grower: Person) -> None:
    with clock.at(NOW - timedelta(days=1)):
        frag = make_frag(grower)
    Code.objects.filter(pk=frag.code_id).update(printed_at=NOW - timedelta(minutes=5))
    late = told(sent(phone, "label", frag.code_id, at=ago(minutes=9)), 409)
    assert "was printed after this scan" in late["message"]
    told(sent(phone, "label", frag.code_id, at=ago(minutes=1)))
    assert LostLabel.objects.filter(code=frag.code_id).count() == 1


def test_a_label_is_lost_under_the_code_that_its_frag_has_now(
    phone: Client, grower: Person
) -> None:
    frag = make_frag(grower)
    now = relabel_frag(frag.pk, by=grower).code_id
    answer = told(sent(phone, "label", frag.code_id))
    assert (answer["code"], LostLabel.objects.get().code_id) == (now, now)
    told(sent(phone, "unlabel", frag.code_id))
    assert LostLabel.objects.get().settled_at is not None


def test_a_late_scan_counts_in_the_month_of_its_day_and_says_so(
    phone: Client, grower: Person
) -> None:
    with clock.at(datetime(2026, 10, 20, 16, tzinfo=UTC)):
        lot = make_lot(grower, 5)
    end_of_october = datetime(2026, 10, 31, 16, tzinfo=UTC).isoformat()
    with clock.at(datetime(2026, 11, 2, 16, tzinfo=UTC)):
        answer = told(sent(phone, "lose", lot.code_id, cause="fell", at=end_of_october))
        assert answer["said"].endswith(
            "4 left of this lot. It counts in October 2026, when it was scanned."
        )
        found_again(lot.pk, by=grower)
        late = told(sent(phone, "lose", lot.code_id, cause="pest", at=end_of_october), 409)
        assert late["message"].endswith(
            "It was scanned in October 2026; done now, it counts in November 2026."
        )
        now = told(sent(phone, "lose", lot.code_id, cause="pest"))
        assert now["said"] == "1 piece written off: Pest. 4 left of this lot."
        assert told(sent(phone, "seen", lot.code_id, at=end_of_october))["said"] == "Seen, fine."
    assert [tallies_of_month(month)["stock/lost"] for month in (202610, 202611)] == [1, 1]
    assert list(stock_differences()) == []
