"""A few weeks of a small organisation, told by actions alone, for a home that is kept.

``make.py`` lets it run on the code whose home is made, which may be older than
this file. What later issues bring is added at the end, so that each kept home
has a bit of everything of its time.
"""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from fraginv.base import clock
from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.rules.roles import Role
from fraginv.costs.actions import add_bill, pay_bill
from fraginv.costs.rules import BillItem
from fraginv.growth.actions.photos import file_photo
from fraginv.labels.actions.lost import mark_label_lost
from fraginv.labels.actions.printing import print_again, start_run
from fraginv.labels.actions.rolls import retire_roll
from fraginv.labels.actions.stocks import add_printer, add_stock, adjust_stock, measure_printer
from fraginv.labels.queries.runs import run_codes
from fraginv.labels.rules.measures import roll_measures
from fraginv.labels.rules.printers import Check, Measures
from fraginv.stock.actions.aside import keep_back, quarantine_frags, set_apart
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.catalogue import add_rack, add_system, add_trough, add_variety
from fraginv.stock.actions.claims import let_go
from fraginv.stock.actions.colonies import add_colony
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.actions.grading import grade_frags, mark_healed
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.customers import add_customer, hold_for_customer
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.queries.prices import get_kind
from fraginv.trade.rules.asked import CreditItem, SaleItem, Tender
from fraginv.trade.rules.certificates import Certificate
from fraginv.trade.rules.words import Basis, Channel, Means
from tests.homes.growing import grow_on
from tests.homes.house import House, picture
from tests.homes.photos import photograph

START = datetime(2026, 9, 1, 14, tzinfo=UTC)
PASSWORD = "lantern-trough-lamp-7"
CREW = (
    ("grower", "Ada Brandt"),
    ("seller", "Ines Varga"),
    ("manager", "Jon Ferris"),
    ("owner", "Mira Holt"),
    ("reader", "Ole Quist"),
)
KINDS = (
    ("Harbour Lantern", "Acropora"),
    ("Tidewater Ember", "Zoanthus"),
    ("Quayside Torch", "Euphyllia"),
)


def settle(house: House) -> None:
    """Found the organisation; add crew, water, varieties, colonies, prices and tax."""
    found_organisation(
        "Tidewater Hall",
        currency="USD",
        zone="America/New_York",
        label_host="REEF.TEST",
        contact="1 Quay Street, Northmark",
    )
    for role, name in CREW:
        house.crew[role] = add_person(role, name=name, role=Role(role), password=PASSWORD)
    by, day = house.manager, START.date()
    trough = add_trough(add_system("Display water", by=by), name="Long trough", by=by)
    house.racks = [add_rack(trough, name=f"rack {n}", rows=4, columns=6, by=by) for n in "AB"]
    apart = add_trough(add_system("Quarantine", by=by, quarantine=True), name="QT tub", by=by)
    house.racks.append(add_rack(apart, name="rack Q", rows=3, columns=4, by=by))
    for name, genus in KINDS:
        colony = add_colony(
            add_variety(name, genus=genus, by=by),
            by=by,
            acquired_on=day - timedelta(days=90),
            rack=house.racks[0],
            rest_days=10,
            note="Given by a friend of the house.",
        )
        house.colonies.append(colony)
        for kind, price in (("retail", 3000), ("shop", 1800)):
            set_price(price, kind=get_kind(kind), variety=colony.variety, by=by, first_day=day)
    bar_colony(house.colonies[2], because="on loan until the spring", by=by)
    set_tax_rate(Decimal("0.0625"), basis=Basis.INVOICE, by=by, first_day=day, name="Sales tax")


def cut(house: House) -> None:
    """Cut frags and a lot; one run of labels was printed ahead."""
    by = house.crew["grower"]
    run = start_run([], blank=5, by=by)
    first, second, _ = house.colonies
    one = cut_colony(first.pk, pieces=16, lost=1, by=by, rack=house.racks[0])
    many = cut_colony(second.pk, pieces=30, lot=True, medium="disc", by=by)
    house.frags = list(one.frags.order_by("pk"))
    house.lot = many.frags.get()
    start_run([frag.code_id for frag in house.frags[:4]], by=by, skip=2)
    assert run.pk
    fill_drawer(house)
    file_photo(house.frags[0], data=picture(0), by=by, caption="At the bench")
    file_photo(first, data=picture(1), by=by)


def fill_drawer(house: House) -> None:
    """Describe a roll, measure a printer, miss a label, print some again, throw some away."""
    by = house.crew["grower"]
    bags = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)
    add_stock("bag-80x50", measures=bags, form="bag", by=by)
    printer = add_printer("Office", by=by)
    measure_printer(printer.pk, measures=Measures(995, 1000, 200, 208), check=Check(), by=by)
    adjust_stock("bag-80x50", printer_id=None, right_tenths=-3, by=by)
    adjust_stock("a4-63.5x33.9", printer_id=printer.pk, by=by)
    spoilt = start_run([], blank=3, by=by)
    print_again(spoilt.pk, first=2, by=by)
    (roll,) = {code.run for code in run_codes(spoilt)}
    retire_roll(roll or 0, by=by)
    mark_label_lost([house.frags[1].code_id], by=by)


def grow(house: House) -> None:
    """Bring frags to every stage: healing, growing, ready, apart, quarantined, kept back, lost."""
    by, frags = house.crew["grower"], house.frags
    mark_healed([frag.pk for frag in frags[2:]], by=by)
    grade_frags([frag.pk for frag in frags[4:]], size="M", by=by)
    set_apart([frags[4].pk], by=by, reason="Pale on one side.")
    quarantine_frags([frags[5].pk], rack=house.racks[2], by=by, reason="Flatworm?")
    keep_back([frags[6].pk], kept=True, by=by)
    record_loss(frags[7].pk, pieces=1, cause="fell", by=by, note="Into the overflow’s comb.")
    place_frags([frags[8].pk], rack=house.racks[1], row=1, column=2, by=by)
    frag = receive_frag(house.colonies[0].variety, pieces=6, by=by, rack=house.racks[1])
    grade_frags([frag.pk], size="S", by=by)
    record_loss(frag.pk, pieces=2, cause="unknown", by=by)
    house.frags.append(frag)


def trade(house: House) -> None:
    """Hold, sell, take money in parts, credit, let go."""
    by, frags = house.crew["seller"], house.frags
    proof = Certificate("Northmark", "NK-4471", START.date(), START.date() + timedelta(days=900))
    shop = add_customer(
        "Saltmarsh Corals", kind=get_kind("shop"), by=by, certificate=proof, email="shop@reef.test"
    )
    visitor = add_customer("Lene Moritz", kind=get_kind("retail"), by=by)
    order = post_sale(
        [SaleItem(frags[9].pk, 1), SaleItem(frags[10].pk, 1), SaleItem(frags[16].pk, 2)],
        by=by,
        customer=shop,
        channel=Channel.ORDER,
    )
    take_payment(order.pk, amount=2000, means=Means.TRANSFER, by=by)
    counter = post_sale(
        [SaleItem(frags[11].pk, 1)], by=by, payment=Tender(Means.CASH, 3188), discount=0
    )
    assert counter.pk
    line = order.lines.order_by("position").first()
    assert line is not None
    credit_sale(
        order.pk, items=[CreditItem(line.pk, pieces=1)], reason="dead on arrival", by=house.manager
    )
    until = START + timedelta(days=100)
    hold_for_customer(frags[12].pk, pieces=1, by=by, customer=visitor, until=until)
    hold = hold_for_customer(frags[13].pk, pieces=1, by=by, for_name="somebody at the racks")
    let_go(hold.pk, by=by)
    hold_for_customer(frags[14].pk, pieces=1, by=by, for_name="Øyvind “the tall one” 🐠")


def pay(house: House) -> None:
    """Enter bills: paid, owed and then paid, given in kind, shared."""
    by, day = house.manager, (START + timedelta(days=30)).date()
    add_bill([BillItem("Power", 41250)], day=day, supplier="Northmark Power", by=by)
    owed = add_bill([BillItem("Salt", 9900)], day=day, settled="owed", by=by, serves="shared")
    pay_bill(owed.bills[0].pk, by=by, day=day + timedelta(days=3))
    add_bill([BillItem("Water", 3000)], day=day, settled="owed", by=by)
    add_bill([BillItem("Plugs", 2500)], day=day, serves="frags", settled="in_kind", by=by)


def see_to_people(house: House) -> None:
    """Invite, let in, put out, offer a new password; a PIN on a shared phone, a second step."""
    from django_otp.oath import totp

    from fraginv.people.actions.crew import deactivate
    from fraginv.people.actions.factors import confirm_factor, start_factor
    from fraginv.people.actions.invitations import accept, invite, offer_reset
    from fraginv.people.actions.phones import remember_phone, set_pin

    owner = house.crew["owner"]
    invite("Åsa Lind", role=Role.READER, email="asa@northmark.example", by=owner)
    link = invite("Bo Marsh", role=Role.GROWER, email="", by=owner)
    newcomer = accept(link.token, username="bo.marsh", password=PASSWORD)
    set_pin(house.crew["grower"], pin="290417")
    remember_phone(house.crew["grower"], token="")
    offer_reset(house.crew["seller"].pk, by=owner)
    device = start_factor(house.manager)
    confirm_factor(house.manager, code=f"{totp(device.bin_key):06d}")
    deactivate(newcomer.pk, by=owner)


def run_on(house: House) -> None:
    """Let work wait, an error be told, verify find something, and a backup fail."""
    from pathlib import Path

    from fraginv.base.rules.differences import Difference
    from fraginv.front.timetable import JOBS
    from fraginv.upkeep.actions.alarms import alarm
    from fraginv.upkeep.actions.backups import record_failure
    from fraginv.upkeep.actions.beats import beat
    from fraginv.upkeep.actions.checkups import record_checkup
    from fraginv.upkeep.actions.turns import take_turns
    from fraginv.upkeep.models import Backup

    take_turns(JOBS)
    with clock.at(clock.now() + timedelta(days=1)):
        take_turns(JOBS)
    beat("plant-room-1", host="plant-room", started_at=clock.now(), doing="Verify everything")
    alarm("KeyError", place="stock:cut")
    record_checkup([Difference("frag 7K3-Q9F-N", "has 2 pieces, its events say 3")])
    record_failure(Path("/full/x.zip"), how=Backup.How.NIGHT, problem="There is no room.")


STORY: Sequence[tuple[int, Callable[[House], None]]] = (
    (0, settle),
    (1, cut),
    (40, grow),
    (45, trade),
    (46, pay),
    (47, see_to_people),
    (48, run_on),
    (60, grow_on),
    (61, photograph),
)


def tell() -> None:
    """Let it all happen, each part on its day."""
    house = House()
    for days, part in STORY:
        with clock.at(START + timedelta(days=days)):
            part(house)
