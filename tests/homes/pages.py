"""Every page of the access table, opened on the home of the process that runs this."""

import json
from collections.abc import Callable, Mapping
from typing import Any

from django.conf import settings
from django.test import Client
from django.urls import NoReverseMatch, reverse

from fraginv.base.models import Code, Person
from fraginv.base.rules.roles import Role
from fraginv.costs.models import Bill
from fraginv.front.access import ACCESS
from fraginv.growth.models import Photo
from fraginv.labels.models import PrintRun
from fraginv.ledger.models import Entry
from fraginv.stock.models import Claim, Colony, Cutting, Frag, System, Trough
from fraginv.trade.models import Customer, Sale
from tests.front.rows import url_names
from tests.plugin import ease_settings

FOR_COLONIES = {"stock:cut"}
FOR_FRAGS = {"stock:grade", "stock:healed", "stock:not_ready", "stock:place"}
FOR_FRAGS |= {"stock:dip", "stock:remount", "stock:give"}
GUESSES = ("1", "x", "2026-11")


def frag() -> Frag:
    """Return a frag that is for sale."""
    return Frag.objects.filter(stage="ready", free__gte=1, apart=False, kept_back=False)[0]


def photo() -> Photo:
    """Return a photo."""
    return Photo.objects.order_by("pk")[0]


def known() -> Mapping[str, Callable[[], Any]]:
    """Return what addresses are made of, from the home's own rows."""
    return {
        "code": lambda: frag().code_id,
        "text": lambda: frag().code_id.lower(),
        "cutting_id": lambda: Cutting.objects.first(),
        "system_id": lambda: System.objects.first(),
        "trough_id": lambda: Trough.objects.first(),
        "colony_code": lambda: Colony.objects.order_by("pk")[0].code_id,
        "frag_code": lambda: frag().code_id,
        "photo_id": photo,
        "mark": lambda: photo().mark,
        "size": lambda: 240,
        "run_id": lambda: PrintRun.objects.first(),
        "roll_number": lambda: Code.objects.filter(kind="blank").latest("run").run,
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


def address(page: str, names: set[str]) -> tuple[str, bool]:
    """Return a page's address, and whether the home has what it is made of."""
    values = known()
    given = {name: values[name]() for name in names if name in values}
    given = {name: getattr(value, "pk", value) for name, value in given.items()}
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
        query = {"codes": frag().code_id} if page in FOR_FRAGS else {}
        answer = client.get(path, query_params=query)
        opened.append(
            [page, path, answer.status_code, is_known, answer.headers.get("Location", "")]
        )
    return json.dumps(opened)
