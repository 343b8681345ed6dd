"""The main job, walked through once today, and the papers that it leaves."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.days import month_of
from fraginv.base.rules.roles import Role
from fraginv.base.show import show_money
from fraginv.base.writing import write_whole
from fraginv.front.demo import cast
from fraginv.front.demo.stage import Scene
from fraginv.labels.actions.printing import print_labels
from fraginv.reports.queries.papers import month_pdf
from fraginv.sheets.queries.papers import sheet_pdf
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import saleable_frags
from fraginv.stock.rules.stages import Stage
from fraginv.trade.actions.customers import hold_for_customer
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Sale
from fraginv.trade.rules.asked import SaleItem
from fraginv.trade.rules.words import Channel, Means

Say = Callable[[str], None]

WHY = "to show the way"
GRADED, HELD, LEFT_HELD = 2, 5, 4
# What is sold and what stays put aside may come out of one lot.
OF_A_LOT = HELD + LEFT_HELD


def walk(scene: Scene, *, home: Path, say: Say) -> None:
    """Cut, label, grade, hold, sell, and make the three papers, saying each step."""
    singles, lot = cut_today(scene, say=say)
    codes = [frag.code_id for frag in singles] + [lot.code_id]
    write(home / "labels.pdf", print_labels(codes, by=scene.grower), say=say, what="their labels")
    grade_today(scene, say=say)
    sale = sell_held(scene, say=say)
    leave_holds(scene)
    say(f"Sold on paper {sale.paper}: {money(sale.total)} with tax, paid by card.")
    shop = scene.customers[cast.BUYERS[0].name]
    write(home / "sheet.pdf", sheet_pdf(shop), say=say, what=f"what {shop} can have today")
    month = month_of(today())
    write(home / "month.pdf", month_pdf(month), say=say, what="this month for the board")


def cut_today(scene: Scene, *, say: Say) -> tuple[list[Frag], Frag]:
    """Cut twelve single frags and one lot of thirty, both today."""
    zoanthid, mushroom = scene.colonies["Signal Box"], scene.colonies["Cellar Door"]
    cutting = cut_colony(
        zoanthid.pk,
        pieces=12,
        lost=1,
        by=scene.grower,
        rack=scene.racks[1],
        despite_rest=WHY,
    )
    singles = list(cutting.frags.order_by("pk"))
    told = ", ".join(show_code(frag.code_id) for frag in singles[:3])
    say(f"{scene.grower} cut {zoanthid.variety} into 12 frags, 1 more was lost: {told}, …")
    lot = cut_colony(
        mushroom.pk,
        pieces=30,
        lot=True,
        by=scene.grower,
        rack=scene.racks[2],
        despite_rest=WHY,
    ).frags.get()
    say(f"{scene.grower} cut {mushroom.variety} into one lot of 30: {show_code(lot.code_id)}.")
    return singles, lot


def grade_today(scene: Scene, *, say: Say) -> None:
    """Grade the oldest frags ready by eye, and a lot where none is at hand to sell from."""
    ids = waiting(is_lot=False)[:GRADED]
    if not saleable_frags().filter(is_lot=True, free__gte=OF_A_LOT).exists():
        ids += waiting(is_lot=True)[:1]
    grade_frags(ids, size="M", by=scene.grower)
    say(f"{scene.grower} graded {len(ids)} of the oldest ready, by eye.")


def waiting(*, is_lot: bool) -> list[int]:
    """Return what still grows or heals and nothing speaks against selling, the oldest first.

    Queries: 1.
    """
    frags = Frag.objects.filter(
        is_lot=is_lot,
        stage__in=[Stage.GROWING.value, Stage.HEALING.value],
        free__gte=OF_A_LOT if is_lot else 1,
        apart=False,
        quarantined=False,
        kept_back=False,
    )
    return list(frags.order_by("cut_on", "pk").values_list("pk", flat=True))


def sell_held(scene: Scene, *, say: Say) -> Sale:
    """Hold a frag and five pieces of a lot for a customer, and sell them."""
    customer = scene.customers["Ines Varga"]
    until = clock.now() + timedelta(hours=4)
    at_hand = list(saleable_frags().order_by("pk"))
    lot = next(frag for frag in at_hand if frag.is_lot and frag.free >= HELD)
    frag = next(frag for frag in at_hand if not frag.is_lot)
    holds = [
        hold_for_customer(one.pk, pieces=pieces, customer=customer, until=until, by=scene.seller)
        for one, pieces in ((frag, 1), (lot, HELD))
    ]
    say(f"{scene.seller} put one frag and {HELD} pieces of a lot aside for {customer}.")
    try:
        hold_for_customer(frag.pk, pieces=1, for_name="Rosalind Peck", by=scene.crew[Role.MANAGER])
    except Conflict as refusal:
        say(f"A second seller was told: {refusal.message}")
    items = [SaleItem(hold.frag_id, hold.pieces, hold_id=hold.pk) for hold in holds]
    sale = post_sale(items, by=scene.seller, channel=Channel.COUNTER, customer=customer)
    take_payment(sale.pk, amount=sale.total, means=Means.CARD, by=scene.seller)
    return sale


def leave_holds(scene: Scene) -> None:
    """Leave a frag and some pieces of a lot put aside, for the pages to show."""
    at_hand = list(saleable_frags().order_by("-ready_on", "pk"))
    lot = next(frag for frag in at_hand if frag.is_lot and frag.free >= LEFT_HELD)
    frag = next(frag for frag in at_hand if not frag.is_lot)
    shop = scene.customers[cast.BUYERS[1].name]
    hold_for_customer(frag.pk, pieces=1, for_name="Rosalind Peck", by=scene.seller)
    hold_for_customer(lot.pk, pieces=LEFT_HELD, customer=shop, by=scene.seller)


def money(amount: int) -> str:
    """Show an amount in the organisation's currency."""
    return show_money(amount, organisation())


def write(file: Path, data: bytes, *, say: Say, what: str) -> None:
    """Write a paper and say where it lies."""
    write_whole(file, data)
    say(f"{file}: {what}")
