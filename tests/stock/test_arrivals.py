"""Receiving what was grown elsewhere."""

from datetime import timedelta
from typing import Any

import pytest

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.actions.founding import add_party
from fraginv.base.errors import Conflict, FraginvError, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.stock.actions.arrivals import Incoming, Papers, receive_pieces, set_cost
from fraginv.stock.actions.colonies import add_colony, change_colony
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.actions.papers import file_paper, say_no_paper
from fraginv.stock.models import Arrival, Colony, ColonyEvent, Frag, FragEvent, Rack
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.queries.papers import lacks_paper, papers_of
from tests.base.test_documents import make_pdf
from tests.factories import make_colony, make_rack, make_variety
from tests.refusing import refused


@pytest.fixture
def tub(grower: Person) -> Rack:
    """A rack in quarantine."""
    return make_rack(grower, quarantine=True)


def test_singles_and_lots_come_into_quarantine(grower: Person, tub: Rack) -> None:
    one, other = make_variety(grower), make_variety(grower, genus="Zoanthus")
    papers = Papers(add_party("Saltmarsh Corals"), " INV 7 ", "P-1", "F", "two bags")
    arrival = receive_pieces(
        [Incoming(one, 3), Incoming(other, 20, lot=True)],
        rack=tub,
        by=grower,
        papers=papers,
        cost=12_050,
    )
    assert (arrival.pieces, arrival.invoice, arrival.cost) == (23, "INV 7", 12_050)
    frags = list(Frag.objects.filter(arrival=arrival).order_by("pk"))
    assert [(frag.variety, frag.pieces, frag.is_lot) for frag in frags] == [
        *[(one, 1, False)] * 3,
        (other, 20, True),
    ]
    assert all(frag.quarantined and frag.quarantined_on == today() for frag in frags)
    event = FragEvent.objects.get(frag=frags[0])
    assert (event.kind, event.body["arrival"], event.body["rack"]) == (
        "received",
        arrival.pk,
        tub.pk,
    )
    colony = keep_as_colony(frags[0].pk, by=grower)
    assert (colony.origin, colony.invoice, colony.permit) == ("bought", "INV 7", "P-1")
    assert (colony.supplier, colony.source_code) == (papers.supplier, "F")
    assert not list(stock_differences())


def test_the_displays_water_only_with_a_reason(grower: Person) -> None:
    rack, variety = make_rack(grower), make_variety(grower)
    with refused("shares water with the display", error=Conflict):
        receive_pieces([Incoming(variety, 1)], rack=rack, by=grower)
    why = "from our own holding tank"
    receive_pieces([Incoming(variety, 1)], rack=rack, by=grower, no_quarantine_because=why)
    frag = Frag.objects.get()
    note = FragEvent.objects.get().body["note"]
    assert (frag.quarantined, note) == (False, f"no quarantine: {why}")
    receive_pieces([Incoming(variety, 1)], rack=rack, by=grower, origin="broken off")
    assert not list(stock_differences())


@pytest.mark.parametrize("origin", ["on loan", "seized"])
def test_what_is_not_ours_is_kept_back(grower: Person, tub: Rack, origin: str) -> None:
    receive_pieces([Incoming(make_variety(grower), 2)], rack=tub, by=grower, origin=origin)
    assert Frag.objects.filter(kept_back=True).count() == 2
    assert not list(stock_differences())


def test_labels_printed_ahead_are_bound(grower: Person, tub: Rack) -> None:
    blank = issue_blank_run(3)
    items = [Incoming(make_variety(grower), 2)]
    receive_pieces(items, rack=tub, by=grower, first_code=blank[0].code)
    codes = {frag.code_id for frag in Frag.objects.all()}
    assert codes < {code.code for code in blank}


@pytest.mark.parametrize(
    ("pieces", "fields", "said"),
    [
        ([], {}, "Say what came in"),
        ([0], {}, "0 living pieces"),
        ([300, 201], {}, "501 pieces"),
        ([1], {"origin": "cut here"}, "pieces come in as one of"),
        ([1], {"cost": 0}, "more than nothing"),
        ([1], {"medium": "rock"}, "frags stand on one of"),
        ([1], {"papers": Papers(source_code="Z")}, "'Z' is no source code"),
        ([1], {"papers": Papers(permit="x" * 81)}, "at most 80"),
        ([1], {"day": "tomorrow"}, "has not come yet"),
        ([1], {"first_code": "7K3"}, "characters"),
    ],
)
def test_arrivals_that_cannot_be(
    grower: Person, tub: Rack, pieces: list[int], fields: dict[str, Any], said: str
) -> None:
    items = [Incoming(make_variety(grower), count) for count in pieces]
    if "day" in fields:
        fields = {"day": today() + timedelta(days=1)}
    with refused(said, error=FraginvError):
        receive_pieces(items, rack=tub, by=grower, **fields)
    assert not Arrival.objects.exists()
    assert not Frag.objects.exists()


def test_the_cost_is_written_once(grower: Person, manager: Person, tub: Rack) -> None:
    arrival = receive_pieces([Incoming(make_variety(grower), 1)], rack=tub, by=grower)
    with refused("more than nothing", error=InputError):
        set_cost(arrival.pk, cost=0, by=manager)
    assert set_cost(arrival.pk, cost=900, by=manager).cost == 900
    with refused("written down already", error=Conflict):
        set_cost(arrival.pk, cost=901, by=manager)


def test_a_paper_is_asked_for_until_there_is_one_or_a_reason(grower: Person) -> None:
    listed = make_variety(grower, genus="Acropora")
    colony = add_colony(listed, by=grower, origin="donated")
    assert lacks_paper(colony)
    paper = file_paper(colony.pk, data=make_pdf(), title=" letter ", by=grower)
    again = file_paper(colony.pk, data=make_pdf(), title="letter", by=grower)
    assert (paper, paper.title) == (again, "letter")
    assert not lacks_paper(colony)
    assert [one.title for one in papers_of(colony)] == ["letter"]
    with refused("Say what the paper is", error=InputError):
        file_paper(colony.pk, data=make_pdf(), title=" ", by=grower)
    other = add_colony(listed, by=grower, origin="donated")
    with refused("why there is no paper", error=InputError):
        say_no_paper(other.pk, because=" ", by=grower)
    say_no_paper(other.pk, because="given in 1989, before papers were asked for", by=grower)
    assert not lacks_paper(other)
    kinds = ColonyEvent.objects.order_by("pk").values_list("kind", flat=True)
    assert list(kinds) == ["came in", "paper", "came in", "changed"]


@pytest.mark.parametrize(
    ("genus", "fields", "lacks"),
    [
        ("Acropora", {"origin": "bought"}, True),
        ("Acropora", {"origin": "broken off"}, True),
        ("Acropora", {"origin": "cut here"}, False),
        ("Acropora", {"origin": "bought", "invoice": "7"}, False),
        ("Acropora", {"origin": "bought", "permit": "P"}, False),
        ("Zoanthus", {"origin": "bought"}, False),
    ],
)
def test_which_colonies_lack_a_paper(
    grower: Person, genus: str, fields: dict[str, Any], lacks: bool
) -> None:
    colony = make_colony(grower, variety=make_variety(grower, genus=genus))
    change_colony(colony.pk, by=grower, **fields)
    assert lacks_paper(Colony.objects.get(pk=colony.pk)) is lacks
