"""One of everything that has a page of its own."""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.urls import URLPattern, URLResolver, get_resolver
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.actions.uploads import keep_upload
from fraginv.base.models import Person, TableLoad
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.base.rules.typed_days import DayOrder
from fraginv.base.tasks import run_later
from fraginv.costs.actions import add_bill
from fraginv.costs.rules import BillItem
from fraginv.front.load_kinds import KINDS
from fraginv.front.loads import bring_in, look, read
from fraginv.growth.actions.intake import open_batch, take_in
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.growth.rules.drawn import Method, Sized
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import add_printer, add_stock
from fraginv.labels.queries.runs import run_codes
from fraginv.labels.rules.measures import roll_measures
from fraginv.ledger.models import Entry
from fraginv.people.actions.invitations import invite
from fraginv.people.actions.mailing import mail_changed
from fraginv.stock.actions.arrivals import Incoming, receive_pieces
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.papers import file_paper
from fraginv.stock.actions.stops import start_stop
from fraginv.stock.actions.water import Reading, log_water
from fraginv.stock.models import Colony, Frag, Rack
from fraginv.stock.rules.holds import ClaimKind
from fraginv.stock.rules.water import WaterKind
from tests.base.test_documents import make_pdf
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.factories import make_colony, make_lot, make_rack, make_variety
from tests.growth.rows import measure
from tests.trade.rows import open_shop

Arguments = Mapping[str, Any]
WARM = Reading(WaterKind.TEMPERATURE, Decimal("25.1"))


def url_names() -> dict[str, set[str]]:
    """Return every page by name, with the names of what its address is made of."""

    def walk(found: URLResolver, space: str = "") -> Iterator[tuple[str, set[str]]]:
        for one in found.url_patterns:
            if isinstance(one, URLResolver):
                yield from walk(one, f"{one.namespace}:" if one.namespace else space)
            elif isinstance(one, URLPattern):
                regex = getattr(one.pattern, "regex", None)
                yield f"{space}{one.name}", set(regex.groupindex) if regex else set()

    return dict(walk(get_resolver()))


def a_task(by: Person) -> DBTaskResult[..., Any]:
    """Let something wait for a worker."""
    run_later(mail_changed, person_id=by.pk, at=clock.now().isoformat())
    return DBTaskResult.objects.latest("enqueued_at")


def trouble_in(rack: Rack, *, by: Person) -> dict[str, Any]:
    """Stop a sale and log the water; return what their pages' addresses are made of."""
    stop = start_stop(make_variety(by), reason="pest", ends_when="clean", by=by)
    entry = log_water(rack.trough, readings=[WARM], by=by)[0]
    return {"stop_id": stop.pk, "entry_id": entry.pk}


def a_roll(by: Person) -> int:
    """Print a roll of blank labels; return its number."""
    (code,) = run_codes(start_run((), blank=1, by=by))
    return code.run or 0


def a_stock(by: Person) -> str:
    """Describe a roll of labels; return its name."""
    measures = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)
    return add_stock("bag-80x50", measures=measures, form="bag", by=by).name


def tables_brought(by: Person) -> dict[str, Any]:
    """Let one table wait and bring one in; return what their pages' addresses are made of."""
    data, table = b"day,kind,amount\n2026-01-05,Power,420.00\n", KINDS["costs"]
    bring_in(read(table, data, days=DayOrder.YEAR_FIRST), name="a.csv", by=by)
    looked = look(table, data, days=DayOrder.YEAR_FIRST, by=by)
    upload = keep_upload(
        data, kind=table.kind, name="a.csv", days=DayOrder.YEAR_FIRST, looked=looked, by=by
    )
    brought = TableLoad.objects.latest("pk")
    return {"kind": "costs", "ending": "csv", "upload_id": upload.pk, "load_id": brought.pk}


def labels_of(code: str, *, by: Person) -> dict[str, Any]:
    """Print a label, and make what labels are printed on."""
    return {
        "run_id": start_run([code], by=by).pk,
        "roll_number": a_roll(by),
        "stock_name": a_stock(by),
        "printer_id": add_printer("Office", by=by).pk,
    }


def things_of(colony: Colony, *, by: Person) -> dict[str, Any]:
    """File a paper of a colony, bar another one, and receive pieces of its variety."""
    away = make_rack(by, quarantine=True)
    return {
        "colony_code": colony.code_id,
        "variety_id": colony.variety_id,
        "paper_id": file_paper(colony.pk, data=make_pdf(), title="invoice", by=by).pk,
        "bar_id": bar_colony(make_colony(by), because="on loan", by=by).pk,
        "arrival_id": receive_pieces([Incoming(colony.variety, 2)], rack=away, by=by).pk,
    }


def places_of(rack: Rack, *, frag: Frag) -> dict[str, Any]:
    """Return what the pages of a rack and of all above it are made of."""
    above = {"system_id": rack.trough.system_id, "trough_id": rack.trough_id}
    return above | {"rack_code": rack.code_id, "frag_code": frag.code_id, "row": 1, "column": 1}


def outlined(frag: Frag, *, by: Person) -> int:
    """Measure a frag in a photo of its own by its outline; return the measurement's id."""
    return measure(frag, by=by, days=0, area_mm2=300, with_outline=True).pk


def a_batch(by: Person) -> dict[str, Any]:
    """Let a picture without a label come in; return what its pages' addresses are made of."""
    batch = open_batch(uuid4(), by=by)
    row = take_in(make_picture(size=(90, 60)), name="a.jpg", batch=batch)
    return {"key": batch.key, "incoming_id": row.pk, "seal": row.sha256[:16]}


def parts_of(photo: Photo, *, by: Person) -> dict[str, Any]:
    """Count a head in a photo; return what its pages' addresses are made of."""
    counted = save_measurement(photo, sized=Sized(Method.HEADS, heads_px=((9, 9),)), by=by)
    return {
        **{"photo_id": photo.pk, "mark": photo.mark, "size": 240},
        **{"left": 0, "top": 0, "width": 40, "height": 40},
        "measurement_id": counted.pk,
    }


def one_of_each(people: People, *, by: Person) -> Callable[[str], dict[str, Any]]:
    """Make one of everything in somebody's name; return what a page's address is made of."""
    shop = open_shop(people)
    colony, rack = make_colony(by), make_rack(by)
    lot = shop.priced_lot(30)
    hold = hold_frag(lot.pk, pieces=2, kind=ClaimKind.NAMED, by=by, for_name="Ines Varga")
    sale = shop.sell(lot, 3)
    photo = file_photo(lot, data=make_picture(), by=by)
    own = make_lot(by, 5, colony=colony)
    bill = add_bill([BillItem("Power", 4200)], day=today(), by=by, settled="owed").bills[0]
    entry = Entry.objects.order_by("pk").first()
    link = invite("Ines Varga", role=Role.READER, email="", by=people[Role.OWNER])
    known: dict[str, Any] = {
        "code": own.code_id,
        "text": own.code_id.lower(),
        "cutting_id": own.cutting_id,
        **places_of(rack, frag=own),
        **things_of(colony, by=by),
        **trouble_in(rack, by=people[Role.OWNER]),
        **{"outline_id": outlined(own, by=by), "side_mm": 40},
        **parts_of(photo, by=by),
        **labels_of(own.code_id, by=by),
        **{"claim_id": hold.pk, "sale_id": sale.pk, "bill_id": bill.pk},
        **{"person_id": by.pk, "customer_id": shop.customer().pk},
        "year": entry.year if entry else 0,
        "number": entry.number if entry else 0,
        "month": today().strftime("%Y-%m"),
        **tables_brought(by),
        **a_batch(by),
        "invitation_id": link.invitation.pk,
        "token": link.token,
        "task_id": a_task(by).pk,
    }
    names = url_names()

    def arguments(page: str) -> dict[str, Any]:
        told = known | ({"code": colony.code_id} if page == "stock:cut" else {})
        return {name: told[name] for name in names[page]}

    return arguments
