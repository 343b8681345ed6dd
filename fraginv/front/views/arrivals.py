"""Receiving pieces that come in from elsewhere, with what they cost."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import Conflict
from fraginv.base.queries.portions import portion_of
from fraginv.base.rules.cautions import Caution
from fraginv.base.rules.roles import Right
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, tell
from fraginv.front.actions import Settlement, pay_for_arrival, receive
from fraginv.front.forms.arrivals import COST, LABELS, PAPERS, CostForm, ReceiveForm
from fraginv.front.queries.pages import arrival_page
from fraginv.front.views.steps import may_choose
from fraginv.stock.queries.arrivals import arrivals as all_arrivals
from fraginv.stock.queries.arrivals import get_arrival
from fraginv.stock.queries.cautions import paper_cautions, poison_cautions
from fraginv.stock.queries.suppliers import suppliers_known
from fraginv.stock.rules.colonies import NOT_OURS
from fraginv.stock.views.catalogue import has_read

PAGE = 40
NO_QUARANTINE = "Straight into the display's water"


def receive_page(request: HttpRequest) -> HttpResponse:
    """Take in pieces; what to beware of with them is shown before they are saved."""
    person = person_of(request)
    costs = person.can(Right.ENTER_COSTS)
    form = ReceiveForm(sent(request), costs=costs, initial=request.GET.dict())
    cautions = cautions_of(form)
    said: list[str] = []

    def do() -> str:
        received = receive(
            form.items(),
            by=person,
            supplier=form.cleaned_data["supplier"],
            papers=form.papers(),
            settlement=settlement_of(form),
            **form.how(),
        )
        said[:] = ["They are here.", *received.said]
        return reverse("front:arrival", args=[received.arrival.pk])

    if has_read(request, cautions):
        done = submit(request, form, do)
        if done is not None:
            tell(request, said)
            return done
    page = page_of(form) | {"cautions": cautions}
    return render(request, "front/receive.html", page, status=form_status(form))


def settlement_of(form: ReceiveForm | CostForm) -> Settlement:
    """Return what pieces cost, nothing where that is not asked of whoever receives them."""
    asked = form.cleaned_data
    if "cost" not in asked:
        return Settlement()
    return Settlement(asked["cost"], asked["settled"], asked["paid_by"])


def page_of(form: ReceiveForm) -> dict[str, Any]:
    """Return what the page shows: what must be said first, the rest folded."""
    first, *others = form.rows()
    names = {"Papers and supplier": PAPERS, "What they cost": COST, "Labels and day": LABELS}
    folded = [
        (head, [form[name] for name in fields if name in form.fields])
        for head, fields in names.items()
    ]
    rest = [
        ("More varieties", [field for row in others for field in row]),
        (NO_QUARANTINE, [form["no_quarantine_because"]]),
        *folded,
    ]
    opened = NO_QUARANTINE if goes_into_the_display(form) else ""
    return {
        "form": form,
        "first": [*first, form["rack"], form["origin"]],
        "sections": [
            (head, fields, head == opened or any(field.errors for field in fields))
            for head, fields in rest
            if fields
        ],
        "suppliers": suppliers_known(),
    }


def goes_into_the_display(form: ReceiveForm) -> bool:
    """Tell whether a rack was chosen that is not in quarantine."""
    rack = getattr(form, "cleaned_data", {}).get("rack")
    return rack is not None and not rack.trough.system.quarantine


def cautions_of(form: ReceiveForm) -> list[Caution]:
    """Return what to beware of with the varieties that were chosen, each once."""
    form.is_valid()
    found: dict[str, Caution] = {}
    for variety in form.varieties():
        told = poison_cautions(variety.genus)
        told += paper_cautions(variety.genus, species=variety.species)
        found |= {caution.key: caution for caution in told}
    return list(found.values())


def arrivals(request: HttpRequest) -> HttpResponse:
    """List what came in, the latest first."""
    portion = portion_of(
        all_arrivals(), order=["-day", "-pk"], size=PAGE, after=after_asked(request)
    )
    return render(request, "front/arrival_list.html", {"list": portion})


def arrival(request: HttpRequest, arrival_id: int) -> HttpResponse:
    """Show what came in together, with its frags and papers."""
    found = get_arrival(arrival_id)
    page = {
        "arrival": found,
        "page": arrival_page(found),
        "not_ours": found.origin in NOT_OURS,
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/arrival_detail.html", page)


def arrival_cost(request: HttpRequest, arrival_id: int) -> HttpResponse:
    """Enter what pieces cost that are here already."""
    found = get_arrival(arrival_id)
    form = CostForm(sent(request))
    if found.cost is not None and not form.is_bound:
        raise Conflict("What these pieces cost is written down already.")
    said: list[str] = []

    def do() -> str:
        settlement = settlement_of(form)
        said[:] = pay_for_arrival(arrival_id, settlement=settlement, by=person_of(request))
        return reverse("front:arrival", args=[arrival_id])

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, " ".join(said) or "It is entered.")
        return done
    page = {"form": form, "arrival": found}
    return render(request, "front/arrival_cost.html", page, status=form_status(form))
