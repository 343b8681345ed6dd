"""Colonies of the demo that have a story: one lent and barred, one without papers, one kept."""

from datetime import date

from fraginv.base.actions.founding import add_party
from fraginv.base.rules.roles import Role
from fraginv.front.actions import Settlement, pay_for_arrival, receive
from fraginv.front.demo.agenda import Agenda, days_before
from fraginv.front.demo.stage import Scene
from fraginv.stock.actions.arrivals import Incoming, Papers
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.colonies import add_colony
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.models import Frag
from fraginv.stock.rules.colonies import BarKind, Origin

OWNER = "Ardley Reef Society"
SUPPLIER = "Tern Island Coral Farm"
COST = 9_600


class Nursery:
    """Take in colonies and pieces from elsewhere, and keep one of our own."""

    def __init__(self, scene: Scene, agenda: Agenda) -> None:
        self.scene = scene
        self.agenda = agenda

    def plan(self) -> None:
        """Put what comes in, and what is kept, on the agenda."""
        today = self.agenda.today
        self.agenda.add(days_before(today, 210), self.borrow)
        self.agenda.add(days_before(today, 160), self.find)
        self.agenda.add(days_before(today, 90), self.keep, hour=17)
        self.agenda.add(days_before(today, 9), self.receive)

    def borrow(self, day: date) -> None:
        """Take a colony on loan, on terms, and bar it until its owner says otherwise."""
        colony = add_colony(
            self.scene.colonies["Slate Terrace"].variety,
            by=self.scene.manager,
            origin=Origin.ON_LOAN,
            owner=add_party(OWNER),
            owner_share=4_000,
            owner_least=1_500,
            invoice="Loan agreement 12",
            rack=self.scene.racks[2],
            rest_days=60,
        )
        bar_colony(
            colony,
            kind=BarKind.LOAN,
            because="on loan until their new hall opens",
            by=self.scene.grower,
        )

    def find(self, day: date) -> None:
        """Write down a colony that came without a paper."""
        add_colony(
            self.scene.colonies["Tollgate Amber"].variety,
            by=self.scene.grower,
            origin=Origin.DONATED,
            rack=self.scene.racks[3],
            rest_days=40,
            most_pieces=8,
            note="Left at the door with a visitor's card. Ask for the paper.",
        )

    def keep(self, day: date) -> None:
        """Keep the oldest single frag that is free as a second mother."""
        own = Frag.objects.filter(colony=self.scene.colonies["Weir Ladder"], is_lot=False)
        living = own.filter(pieces=1, free=1, apart=False, quarantined=False)
        frag = living.order_by("cut_on", "pk").first()
        if frag is not None:
            keep_as_colony(frag.pk, by=self.scene.grower, note="The one with the longest branches")

    def receive(self, day: date) -> None:
        """Take in a few bought pieces, into quarantine; their bill is entered by the manager."""
        variety = self.scene.colonies["Lockkeeper's Lamp"].variety
        received = receive(
            [Incoming(variety, 3)],
            rack=self.scene.quarantine,
            by=self.scene.grower,
            supplier=SUPPLIER,
            papers=Papers(invoice="TI 2204", permit="aquaculture 31", source_code="F"),
        )
        manager = self.scene.crew[Role.MANAGER]
        pay_for_arrival(received.arrival.pk, settlement=Settlement(COST), by=manager)
