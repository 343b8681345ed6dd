"""Every page of the access table, opened on the home of the process that runs this."""

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.conf import settings
from django.test import Client
from django.urls import NoReverseMatch, reverse

from fraginv.base.models import Code, Person, TableLoad
from fraginv.base.rules.roles import Role
from fraginv.costs.models import Bill
from fraginv.front.access import ACCESS
from fraginv.growth.models import Batch, Incoming, Measurement, Photo
from fraginv.labels.models import Printer, PrintRun
from fraginv.ledger.models import Entry
from fraginv.stock.models import (
    Arrival,
    Bar,
    Claim,
    Colony,
    ColonyPaper,
    Cutting,
    Frag,
    Rack,
    StopSale,
    System,
    Trough,
    Variety,
)
from fraginv.trade.models import Customer, Sale
from tests.front.rows import url_names
from tests.plugin import ease_settings

FOR_COLONIES = {"stock:cut"}
FOR_FRAGS = {"stock:grade", "stock:healed", "stock:not_ready", "stock:place"}
FOR_FRAGS |= {"stock:dip", "stock:remount", "stock:give", "stock:release_many", "stock:clean"}
GUESSES = ("1", "x", "2026-11", "00000000-0000-4000-8000-000000000000")


def frag() -> Frag:
    """Return a frag that is for sale."""
    return Frag.objects.filter(stage="ready", free__gte=1, apart=False, kept_back=False)[0]


def photo() -> Photo:
    """Return a photo of a frag, which can be measured in."""
    return Photo.objects.filter(frag__isnull=False).order_by("pk")[0]


def kept() -> Incoming | None:
    """Return a picture that came in and is kept."""
    return Incoming.objects.filter(file__isnull=False).first()


def rack() -> Rack:
    """Return a rack in which something stands."""
    return Rack.objects.filter(frags__stage="ready").order_by("pk")[0]


def known() -> Mapping[str, Callable[[], Any]]:
    """Return what addresses are made of, from the home's own rows."""
    return {
        "code": lambda: frag().code_id,
        "text": lambda: frag().code_id.lower(),
        "cutting_id": lambda: Cutting.objects.first(),
        "system_id": lambda: System.objects.first(),
        "trough_id": lambda: Trough.objects.first(),
        "rack_code": lambda: rack().code_id,
        **{"row": lambda: 1, "column": lambda: 1},
        "variety_id": lambda: Variety.objects.first(),
        "colony_code": lambda: Colony.objects.order_by("pk")[0].code_id,
        "frag_code": lambda: frag().code_id,
        "photo_id": photo,
        "mark": lambda: photo().mark,
        "size": lambda: 240,
        "side_mm": lambda: 40,
        **{"left": lambda: 0, "top": lambda: 0, "width": lambda: 40, "height": lambda: 40},
        "run_id": lambda: PrintRun.objects.first(),
        "roll_number": lambda: (
            Code.objects.exclude(run=None).filter(kind="blank").latest("run").run
        ),
        "stock_name": lambda: "a4-63.5x33.9",
        "claim_id": lambda: Claim.objects.exclude(kind="sale").first(),
        "sale_id": lambda: Sale.objects.filter(balance__owed__gt=0).first(),
        "customer_id": lambda: Customer.objects.first(),
        "bill_id": lambda: Bill.objects.filter(settled="owed").first(),
        "person_id": lambda: Person.objects.first(),
        "year": lambda: Entry.objects.all()[0].year,
        "number": lambda: Entry.objects.all()[0].number,
        "month": lambda: "2026-10",
        **{"kind": lambda: "costs", "ending": lambda: "csv"},
    }


def seldom() -> Mapping[str, Callable[[], Any]]:
    """Return the same of what not every home has: a home of before has none of it."""
    return {
        "arrival_id": lambda: Arrival.objects.filter(cost__isnull=True).first(),
        "bar_id": lambda: Bar.objects.first(),
        "paper_id": lambda: ColonyPaper.objects.first(),
        "stop_id": lambda: StopSale.objects.first(),
        "load_id": lambda: TableLoad.objects.first(),
        "printer_id": lambda: Printer.objects.first(),
        "key": lambda: getattr(Batch.objects.first(), "key", None),
        "incoming_id": kept,
        "seal": lambda: getattr(kept(), "sha256", "")[:16] or None,
        "measurement_id": lambda: Measurement.objects.first(),
        "outline_id": lambda: Measurement.objects.exclude(outline_mm=[]).first(),
    }


def of_the_home(names: set[str]) -> Iterator[tuple[str, Any]]:
    """Yield what an address is made of, as far as the home has it."""
    values, rare = known(), seldom()
    for name in names:
        value = values[name]() if name in values else rare[name]() if name in rare else None
        if name in values or value is not None:
            yield name, getattr(value, "pk", value)


def query(page: str) -> dict[str, str]:
    """Return what a page is asked for behind the question mark."""
    if page in FOR_FRAGS:
        return {"codes": frag().code_id}
    if page == "front:scan_done":
        return {"do": "seen", "code": frag().code_id}
    if page == "front:scan_look":
        return {"code": frag().code_id}
    return {}


def address(page: str, names: set[str]) -> tuple[str, bool]:
    """Return a page's address, and whether the home has what it is made of."""
    given = dict(of_the_home(names))
    if page in FOR_COLONIES:
        given["code"] = Colony.objects.order_by("pk")[0].code_id
    for guess in GUESSES:
        try:
            return reverse(page, kwargs={**dict.fromkeys(names, guess), **given}), names <= set(
                given
            )
        except NoReverseMatch:
            continue
    raise NoReverseMatch(page)


def open_all() -> str:
    """Open every page as the owner; return each page's address, status and what it is made of."""
    settings.ALLOWED_HOSTS = ["testserver"]
    ease_settings()
    owner = Person.objects.get(role=Role.OWNER.value)
    client = Client(raise_request_exception=False)
    client.force_login(owner, backend=settings.AUTHENTICATION_BACKENDS[-1])
    opened = []
    for page, names in url_names().items():
        if "GET" not in ACCESS.get(page, {}):
            continue
        path, is_known = address(page, names)
        answer = client.get(path, query_params=query(page))
        opened.append(
            [page, path, answer.status_code, is_known, answer.headers.get("Location", "")]
        )
    return json.dumps(opened)
