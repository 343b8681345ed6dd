"""Colonies that leave and come back, and frags that become colonies."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from fraginv.base import clock
from fraginv.base.actions.founding import add_party
from fraginv.base.errors import Conflict, FraginvError, InputError
from fraginv.base.models import Party, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import cuttings, leaving
from fraginv.stock.actions.arrivals import Incoming, receive_pieces
from fraginv.stock.actions.aside import keep_back, quarantine_frags, release_frags
from fraginv.stock.actions.claims import hold_frag, let_go, take_back, take_for_sale
from fraginv.stock.actions.colonies import change_colony
from fraginv.stock.actions.counting import give_frags
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.actions.leaving import (
    bring_back,
    display_colony,
    give_colony,
    offer_whole,
    record_death,
)
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.actions.parts import recut_frag
from fraginv.stock.actions.rack_counts import settle_count
from fraginv.stock.actions.racks import move_rack
from fraginv.stock.actions.stops import start_stop
from fraginv.stock.models import Colony, ColonyEvent, Frag, Rack, System
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.frags import state_of
from fraginv.stock.queries.lineage import ancestors, counts_below, daughters, kin, line_below
from fraginv.stock.queries.quarantine import since_in
from fraginv.stock.rules.counts import Fate, Settled
from fraginv.stock.rules.events import replay
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.refusing import refused


def state(colony: Colony) -> str:
    """Return what has become of a colony."""
    return Colony.objects.get(pk=colony.pk).state


def story(colony: Colony) -> list[str]:
    """Return the kinds of what happened to a colony."""
    return list(ColonyEvent.objects.filter(colony=colony).values_list("kind", flat=True))


def assert_replayed(frag: Frag) -> None:
    """Fail where a frag's events do not lead to its row."""
    frag = Frag.objects.get(pk=frag.pk)
    events = [Happening(Kind(one.kind), one.day, one.body) for one in frag.events.order_by("seq")]
    assert replay(events) == state_of(frag)


@pytest.fixture
def orla(grower: Person) -> Party:
    """Somebody who is given corals, and owns some."""
    return add_party("Orla Finch")


def test_a_colony_dies_and_is_no_longer_cut(grower: Person) -> None:
    rack = make_rack(grower)
    colony = make_colony(grower, rack=rack)
    yesterday = today() - timedelta(days=1)
    record_death(colony.pk, cause="rtn", by=grower, note="overnight", day=yesterday)
    row = Colony.objects.get(pk=colony.pk)
    assert (row.state, row.left_on, row.rack) == ("dead", yesterday, None)
    with refused("This colony is dead", error=Conflict):
        cut_colony(colony.pk, pieces=1, by=grower)
    with refused("has left already: dead", error=Conflict):
        display_colony(colony.pk, by=grower)
    bring_back(colony.pk, by=grower, because="it was its neighbour")
    row.refresh_from_db()
    assert (row.state, row.left_on, row.rack) == ("living", None, rack)
    assert story(colony) == ["came in", "died", "back"]
    with refused("is here already", error=Conflict):
        bring_back(colony.pk, by=grower)
    assert cut_colony(colony.pk, pieces=1, by=grower).pieces == 1


def test_a_colony_is_given_or_goes_into_the_display(grower: Person, orla: Party) -> None:
    given, shown = make_colony(grower), make_colony(grower)
    give_colony(given.pk, to=orla, by=grower)
    display_colony(shown.pk, by=grower, note="by the overflow")
    assert (state(given), state(shown)) == ("given", "displayed")
    assert ColonyEvent.objects.get(colony=given, kind="given").body["to"] == orla.pk


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"cause": "boredom"}, "Choose a cause"),
        ({"cause": "rtn", "day": timedelta(days=1)}, "has not come yet"),
        ({"cause": "rtn", "day": timedelta(days=-800)}, "before the colony came in"),
        ({"cause": "rtn", "note": "x" * 201}, "at most 200"),
    ],
)
def test_deaths_that_cannot_be(grower: Person, fields: dict[str, Any], said: str) -> None:
    colony = make_colony(grower)
    if "day" in fields:
        fields = fields | {"day": today() + fields["day"]}
    with refused(said, error=InputError):
        record_death(colony.pk, by=grower, **fields)
    assert state(colony) == "living"


def test_a_whole_colony_is_sold_as_a_frag_with_its_lineage(grower: Person, seller: Person) -> None:
    colony = make_colony(grower, rack=make_rack(grower))
    frag = offer_whole(colony.pk, by=grower, heads=4)
    assert (frag.colony, frag.variety, frag.pieces) == (colony, colony.variety, 1)
    assert (frag.stage, frag.size, frag.heads) == ("ready", "mini", 4)
    assert state(colony) == "sold"
    assert_replayed(frag)
    sale = take_for_sale(frag.pk, pieces=1, by=seller)
    with refused("is sold. Credit the sale first", error=Conflict):
        bring_back(colony.pk, by=grower)
    take_back(sale.pk, pieces=1, alive=True, by=seller)
    bring_back(colony.pk, by=grower, because="came back alive")
    assert state(colony) == "living"
    assert_replayed(frag)
    assert not list(stock_differences())


def test_what_was_not_sold_is_the_same_colony_again(grower: Person, seller: Person) -> None:
    rack = make_rack(grower)
    colony = make_colony(grower, rack=rack)
    frag = offer_whole(colony.pk, by=grower)
    hold = hold_frag(frag.pk, pieces=1, kind=ClaimKind.NAMED, by=seller, for_name="Ines Varga")
    with refused("put aside for Ines Varga", error=Conflict):
        keep_as_colony(frag.pk, by=grower)
    let_go(hold.pk, by=seller)
    assert keep_as_colony(frag.pk, by=grower) == colony
    row = Colony.objects.get(pk=colony.pk)
    assert (row.state, row.rack, Frag.objects.get(pk=frag.pk).stage) == ("living", rack, "kept")
    again = offer_whole(colony.pk, by=grower)
    record_loss(again.pk, pieces=1, cause="fell", by=grower)
    with refused("is lost and cannot be kept", error=Conflict):
        bring_back(colony.pk, by=grower)
    assert story(colony) == ["came in", "sold whole", "back", "sold whole"]
    assert not list(stock_differences())


def test_a_colony_in_quarantine_is_not_for_sale_when_offered(grower: Person) -> None:
    colony = make_colony(grower, rack=make_rack(grower, quarantine=True))
    frag = offer_whole(colony.pk, by=grower)
    assert frag.quarantined
    assert_replayed(frag)
    with refused("'XL' is no size", error=InputError):
        offer_whole(colony.pk, size="XL", by=grower)


def test_a_kept_frag_inherits_and_its_lineage_is_told_both_ways(
    grower: Person, orla: Party
) -> None:
    terms = {"owner": orla, "owner_share": 4000, "owner_least": 1500, "most_pieces": 9}
    mother = make_colony(grower, origin="on loan", rest_days=45, **terms)
    lot = make_lot(grower, 6, colony=mother, rack=make_rack(grower))
    child = keep_as_colony(lot.pk, by=grower, note="  the brightest ")
    assert (child.origin, child.from_frag, child.mother) == ("cut here", lot, mother)
    assert (child.rest_days, child.owner, child.owner_share) == (45, orla, 4000)
    assert (child.most_pieces, child.rack, child.note) == (9, lot.rack, "the brightest")
    assert (Frag.objects.get(pk=lot.pk).stage, story(child)) == ("kept", ["kept"])
    assert_replayed(lot)
    grandchild = keep_as_colony(make_frag(grower, colony=child).pk, by=grower, rest_days=7)
    sister = keep_as_colony(make_frag(grower, colony=mother).pk, by=grower)
    assert grandchild.rest_days == 7
    assert ancestors(grandchild) == [child, mother]
    assert line_below(mother.pk) == {
        mother.pk: None,
        child.pk: mother.pk,
        sister.pk: mother.pk,
        grandchild.pk: child.pk,
    }
    assert counts_below([mother.pk, child.pk]) == {mother.pk: 3, child.pk: 1}
    assert counts_below([]) == {}
    told = [(one.colony, one.living, one.below) for one in kin(daughters(mother))]
    assert told == [(child, 0, 1), (sister, 0, 0)]
    assert not list(stock_differences())


def test_a_frag_that_came_in_keeps_its_papers_as_a_colony(grower: Person) -> None:
    frag = receive_frag(make_variety(grower), pieces=1, by=grower)
    colony = keep_as_colony(frag.pk, by=grower)
    assert (colony.origin, colony.mother, colony.rest_days) == ("bought", None, 30)


def test_frags_that_cannot_be_kept(grower: Person, seller: Person) -> None:
    frag = make_frag(grower, ready=True)
    with refused("731 days of rest", error=InputError):
        keep_as_colony(frag.pk, by=grower, rest_days=731)
    take_for_sale(frag.pk, pieces=1, by=seller)
    with refused("is sold", error=FraginvError):
        keep_as_colony(frag.pk, by=grower)
    other = make_frag(grower)
    keep_as_colony(other.pk, by=grower)
    with refused("is kept and cannot be kept", error=Conflict):
        keep_as_colony(other.pk, by=grower)
    assert Colony.objects.filter(from_frag__isnull=False).count() == 1


def test_what_is_changed_stays_in_the_log(grower: Person, orla: Party) -> None:
    left, right = make_rack(grower), make_rack(grower)
    colony = make_colony(grower, rack=left, permit="P 1")
    change_colony(colony.pk, by=grower, rack=right, permit="P 2", owner=orla, owner_share=2500)
    moved, changed = ColonyEvent.objects.filter(colony=colony).exclude(kind="came in")
    water = left.trough.system_id
    assert (moved.kind, moved.body) == (
        "moved",
        {"from": left.pk, "rack": right.pk, "from_system": water, "system": water},
    )
    assert changed.body == {"was": {"permit": "P 1"}, "terms": True}
    change_colony(colony.pk, by=grower, permit="P 2")
    assert ColonyEvent.objects.filter(colony=colony).count() == 3
    with refused("Somebody else has changed", error=Conflict):
        change_colony(colony.pk, by=grower, seen=moved.pk, note="late")
    change_colony(colony.pk, by=grower, seen=changed.pk, note="in time", source_code="F")
    row = Colony.objects.get(pk=colony.pk)
    assert (row.note, row.source_code, row.permit, row.rack) == ("in time", "F", "P 2", right)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"owner_share": 5000}, "Say who owns the colony"),
        ({"source_code": "A"}, "'A' is no source code"),
        ({"most_pieces": 0}, "At most 0 pieces"),
        ({"permit": "x" * 81}, "The permit has 81 characters"),
        ({"rest_days": 731}, "731 days of rest"),
    ],
)
def test_changes_that_cannot_be(grower: Person, fields: Any, said: str) -> None:
    colony = make_colony(grower)
    with refused(said, error=InputError):
        change_colony(colony.pk, by=grower, **fields)
    assert story(colony) == ["came in"]


@pytest.mark.parametrize(("share", "least"), [(10_001, None), (None, 0)])
def test_terms_that_cannot_be(
    grower: Person, orla: Party, share: int | None, least: int | None
) -> None:
    colony = make_colony(grower)
    with refused("must", error=InputError):
        change_colony(colony.pk, by=grower, owner=orla, owner_share=share, owner_least=least)


def test_a_colony_is_not_given_out_of_quarantine_or_past_a_stop_sale(grower: Person) -> None:
    party = add_party("Lantern School")
    apart = make_colony(grower, rack=make_rack(grower, quarantine=True))
    with refused("stands in quarantine", error=Conflict):
        give_colony(apart.pk, to=party, by=grower)
    rack = make_rack(grower)
    colony = make_colony(grower, rack=rack)
    start_stop(rack.trough, reason="flatworms", ends_when="three clean checks", by=grower)
    with refused("flatworms, until three clean checks", error=Conflict):
        give_colony(colony.pk, to=party, by=grower)
    assert Colony.objects.filter(state="living").count() == 2


LEAVES: dict[str, tuple[Callable[[Colony, Party, Person], object], object, str]] = {
    "dies": (
        lambda colony, _, by: record_death(colony.pk, cause="rtn", by=by),
        leaving,
        "check_day",
    ),
    "given": (lambda colony, to, by: give_colony(colony.pk, to=to, by=by), leaving, "check_day"),
    "displayed": (lambda colony, _, by: display_colony(colony.pk, by=by), leaving, "check_day"),
    "offered": (lambda colony, _, by: offer_whole(colony.pk, by=by), leaving, "issue_codes"),
    "cut": (lambda colony, _, by: cut_colony(colony.pk, pieces=2, by=by), cuttings, "lock_rest"),
}


@pytest.mark.parametrize("way", LEAVES)
@pytest.mark.parametrize("placed", [True, False])
def test_a_colony_that_is_moved_at_that_moment_does_not_leave_as_if_it_stood_where_it_stood(
    grower: Person, orla: Party, way: str, placed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody puts it into quarantine after it was read, and before anything is written."""
    colony = make_colony(grower, rack=make_rack(grower) if placed else None)
    quarantine = make_rack(grower, quarantine=True)
    act, module, halt = LEAVES[way]
    goes_on = getattr(module, halt)

    def meanwhile(*args: Any, **kwargs: Any) -> Any:
        change_colony(colony.pk, rack=quarantine, by=grower)
        return goes_on(*args, **kwargs)

    monkeypatch.setattr(module, halt, meanwhile)
    with refused("Somebody else has just .*this colony. Open it again", error=Conflict):
        act(colony, orla, grower)
    assert (state(colony), story(colony)) == ("living", ["came in"])
    assert not Frag.objects.exists()


def test_what_comes_back_of_a_kept_lot_goes_to_the_colony_that_it_became(people: People) -> None:
    grower, seller = people[Role.GROWER], people[Role.SELLER]
    lot = make_lot(grower, 4, ready=True)
    sales = [take_for_sale(lot.pk, pieces=1, by=seller) for _ in range(2)]
    colony = keep_as_colony(lot.pk, by=grower)
    take_back(sales[0].pk, pieces=1, alive=True, by=seller)
    assert keep_as_colony(lot.pk, by=grower) == colony
    assert (Frag.objects.get(pk=lot.pk).stage, story(colony)) == ("kept", ["kept", "kept"])
    assert not list(stock_differences())
    take_back(sales[1].pk, pieces=1, alive=True, by=seller)
    quarantine_frags(
        [lot.pk], by=grower, reason="flatworms", rack=make_rack(grower, quarantine=True)
    )
    with refused("is in quarantine. Release it first", error=Conflict):
        keep_as_colony(lot.pk, by=grower)
    release_frags([lot.pk], by=people[Role.OWNER], despite="it never left its bag")
    record_death(colony.pk, cause="rtn", by=grower)
    with refused("has left: dead. Bring that colony back first", error=Conflict):
        keep_as_colony(lot.pk, by=grower)
    assert Frag.objects.get(pk=lot.pk).stage == "ready"
    assert_replayed(lot)


def test_what_is_cut_in_quarantine_stays_in_it(grower: Person) -> None:
    rack, display = make_rack(grower, quarantine=True), make_rack(grower)
    colony = make_colony(grower, rack=rack)
    with refused("stands in quarantine, and so does what is cut", error=Conflict):
        cut_colony(colony.pk, pieces=2, rack=display, by=grower)
    for where in (None, rack):
        cut_colony(colony.pk, pieces=2, rack=where, by=grower)
    assert Frag.objects.filter(quarantined=True, quarantined_on=today()).count() == 4
    with refused("Release it before it goes to", error=Conflict):
        place_frags(Frag.objects.values_list("pk", flat=True), rack=display, by=grower)
    assert not list(stock_differences())


def test_a_colony_leaves_quarantine_after_its_days_and_a_look(
    grower: Person, manager: Person
) -> None:
    rack, display = make_rack(grower, quarantine=True), make_rack(grower)
    System.objects.filter(pk=rack.trough.system_id).update(least_days=10)
    colony = make_colony(grower, rack=display)
    change_colony(colony.pk, rack=rack, by=grower)
    with clock.at(clock.now() + timedelta(days=4)):
        change_colony(colony.pk, rack=make_rack(grower, quarantine=True), by=grower)
        for where in (display, None):
            with refused("A manager may let it out before", error=Conflict):
                change_colony(colony.pk, rack=where, despite="clean", by=grower)
    with clock.at(clock.now() + timedelta(days=10)):
        with refused("Write down how it was found", error=Conflict):
            change_colony(colony.pk, rack=display, by=grower)
        change_colony(colony.pk, rack=display, despite="Clean for ten days", by=grower)
    body = ColonyEvent.objects.filter(colony=colony, kind="moved").latest("pk").body
    assert body["despite"] == "Clean for ten days"
    change_colony(colony.pk, rack=rack, by=grower)
    with refused("write down why it leaves", error=Conflict):
        change_colony(colony.pk, rack=display, by=manager)
    with refused("Change its rack once it may leave there", error=Conflict):
        display_colony(colony.pk, by=manager)
    change_colony(colony.pk, rack=display, despite="The display is being rebuilt", by=manager)


def test_how_long_a_colony_stands_in_quarantine_is_not_changed_by_racks_that_are_carried(
    grower: Person,
) -> None:
    before, left, display = (make_rack(grower) for _ in range(3))
    tub, other = (make_rack(grower, quarantine=True) for _ in range(2))
    water, start = tub.trough.system, clock.now()
    colony = make_colony(grower, rack=before, acquired_on=today() - timedelta(days=90))
    for day, rack in enumerate([left, tub, other], start=1):
        with clock.at(start + timedelta(days=day)):
            change_colony(colony.pk, rack=rack, by=grower)
    came = today() + timedelta(days=2)
    assert since_in(water, colony=colony) == came
    move_rack(tub.pk, trough=display.trough, by=grower)
    assert since_in(water, colony=colony) == came
    for rack in (left, before):
        move_rack(rack.pk, trough=other.trough, by=grower)
    assert since_in(water, colony=colony) == came


def test_moves_of_which_the_water_was_not_written_down_go_by_their_racks(grower: Person) -> None:
    display, tub, other = make_rack(grower), *(make_rack(grower, quarantine=True) for _ in "ab")
    colony, start = make_colony(grower, rack=display), clock.now()
    for day, rack in enumerate([tub, other], start=1):
        with clock.at(start + timedelta(days=day)):
            change_colony(colony.pk, rack=rack, by=grower)
    for event in ColonyEvent.objects.filter(colony=colony, kind="moved"):
        del event.body["from_system"], event.body["system"]
        event.save()
    assert since_in(tub.trough.system, colony=colony) == today() + timedelta(days=1)
    move_rack(tub.pk, trough=display.trough, by=grower)
    assert since_in(tub.trough.system, colony=colony) == today() + timedelta(days=2)


def test_a_frag_in_quarantine_is_kept_there_as_a_colony(grower: Person) -> None:
    rack = make_rack(grower, quarantine=True)
    frag, lost = make_frags(grower, 2)
    quarantine_frags([frag.pk, lost.pk], rack=rack, by=grower)
    colony = keep_as_colony(frag.pk, by=grower)
    assert colony.rack == rack
    with refused("stays until", error=Conflict):
        change_colony(colony.pk, rack=make_rack(grower), despite="clean", by=grower)
    put_out_of_sight(lost, rack=rack, by=grower)
    with refused("nobody knows in which rack", error=Conflict):
        keep_as_colony(lost.pk, by=grower)


def put_out_of_sight(frag: Frag, *, rack: Rack, by: Person) -> None:
    """Let a count of a rack not find a frag that is looked for."""
    there = dict.fromkeys(Frag.objects.filter(rack=rack).values_list("pk", flat=True), 1)
    there = {pk: 0 if pk == frag.pk else count for pk, count in there.items()}
    settle_count(rack.pk, there=there, settled={frag.pk: Settled(Fate.LOOKED)}, by=by)


@pytest.mark.parametrize(
    ("facts", "barred"),
    [
        ({"origin": "seized"}, "Seized, held for an authority"),
        ({"origin": "on loan"}, "On loan"),
        ({"origin": "on loan", "owner_share": 5_000}, ""),
        ({"origin": "bought"}, ""),
    ],
)
def test_what_is_not_ours_is_barred_from_the_first(
    grower: Person, orla: Party, facts: Any, barred: str
) -> None:
    if "owner_share" in facts:
        facts = facts | {"owner": orla}
    first, second = make_colony(grower, **facts), make_colony(grower)
    change_colony(second.pk, by=grower, **facts)
    for colony in (first, second):
        colony.refresh_from_db()
        assert (colony.barred_because, colony.bars.count()) == (barred, int(bool(barred)))
    if barred:
        with refused("barred from cutting", error=Conflict):
            cut_colony(first.pk, pieces=1, by=grower)


@pytest.mark.parametrize("origin", ["on loan", "seized"])
def test_pieces_that_are_not_ours_are_let_out_by_the_owner_alone(
    people: People, origin: str
) -> None:
    grower, owner = people[Role.GROWER], people[Role.OWNER]
    rack = make_rack(grower, quarantine=True)
    arrival = receive_pieces(
        [Incoming(make_variety(grower), 3)], rack=rack, by=grower, origin=origin
    )
    kept, cut, out = arrival.frags.order_by("pk")
    deeds: list[Callable[[], object]] = [
        lambda: keep_back([out.pk], kept=False, by=grower),
        lambda: give_frags([out.pk], why="school", by=grower),
        lambda: recut_frag(cut.pk, into=2, by=grower),
    ]
    for deed in deeds:
        with refused("Only the owner role ends that", error=Conflict):
            deed()
    assert keep_as_colony(kept.pk, by=grower).barred_because
    keep_back([out.pk], kept=False, by=owner)
    assert not Frag.objects.get(pk=out.pk).kept_back
    assert not list(stock_differences())
