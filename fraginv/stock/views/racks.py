"""Racks, troughs and systems as they are changed, moved, emptied and taken out of use."""

from collections.abc import Callable, Sequence

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.stock.actions import arranging
from fraginv.stock.actions.racks import empty_rack, move_rack, turn_rack
from fraginv.stock.forms.places import (
    EmptyForm,
    MoveForm,
    RackForm,
    ShiftForm,
    SystemChangeForm,
    TroughForm,
)
from fraginv.stock.models import Rack
from fraginv.stock.queries.places import get_system, get_trough, rack_by_code
from fraginv.stock.rules.moves import say_apart, say_moved


def rack_change(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Give a rack another name or grid."""
    rack = rack_by_code(read_code(rack_code))
    start = {"name": rack.name, "rows": rack.rows, "columns": rack.columns}
    form = RackForm(sent(request), initial=start)

    def do() -> str:
        arranging.change_rack(rack.pk, by=person_of(request), **form.cleaned_data)
        return address_path(rack.code_id)

    return asking(request, form, do, title=f"Change {rack}", button="Save", said="Changed.")


def rack_withdraw(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Take an empty rack out of use."""
    rack = rack_by_code(read_code(rack_code))
    form = Form(sent(request))

    def do() -> str:
        arranging.withdraw_rack(rack.pk, by=person_of(request))
        return reverse("stock:places")

    title = f"Take {rack} out of use"
    return asking(request, form, do, title=title, button="Out of use", said="Out of use.")


def rack_turn(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Note that a rack was turned round."""
    rack = rack_by_code(read_code(rack_code))
    form = ShiftForm(sent(request), initial={"seq": rack.last_seq})

    def do() -> str:
        turn_rack(rack.pk, by=person_of(request), seq=form.cleaned_data["seq"])
        return address_path(rack.code_id)

    title = f"Turn {rack} round"
    return asking(request, form, do, title=title, button="It is turned round", said="Turned round.")


def rack_move(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Put a rack with all that stands in it into another trough."""
    rack = rack_by_code(read_code(rack_code))
    form = MoveForm(sent(request), initial={"seq": rack.last_seq})
    came: list[str] = []

    def do() -> str:
        asked = form.cleaned_data
        person, seq = person_of(request), asked["seq"]
        event = move_rack(rack.pk, trough=asked["trough"], by=person, seq=seq)
        came[:] = [say_apart(event.body.get("apart", 0))]
        return address_path(rack.code_id)

    title, button = f"Move {rack}", "Move it whole"
    return asking(request, form, do, title=title, button=button, said="Moved.", came=came)


def rack_empty(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Put all that stands in a rack into another one."""
    rack = rack_by_code(read_code(rack_code))
    form = EmptyForm(sent(request), initial={"seq": rack.last_seq})
    came: list[str] = []

    def do() -> str:
        asked = form.cleaned_data
        into: Rack = asked["rack"]
        moved = empty_rack(rack.pk, into=into, by=person_of(request), seq=asked["seq"])
        came[:] = [say_moved(moved)]
        return address_path(into.code_id)

    said = "All of it stands here now. Where a hole was taken or does not exist, it is not known."
    title, button = f"Empty {rack}", "Move all of it"
    return asking(request, form, do, title=title, button=button, said=said, came=came)


def trough_change(request: HttpRequest, trough_id: int) -> HttpResponse:
    """Give a trough another name."""
    trough = get_trough(trough_id)
    form = TroughForm(sent(request), initial={"name": trough.name})

    def do() -> str:
        arranging.change_trough(trough.pk, by=person_of(request), **form.cleaned_data)
        return reverse("stock:places")

    away = reverse("stock:trough_withdraw", args=[trough.pk])
    title = f"Change {trough}"
    return asking(request, form, do, title=title, button="Save", said="Changed.", away=away)


def trough_withdraw(request: HttpRequest, trough_id: int) -> HttpResponse:
    """Take a trough without racks out of use."""
    trough = get_trough(trough_id)
    form = Form(sent(request))

    def do() -> str:
        arranging.withdraw_trough(trough.pk, by=person_of(request))
        return reverse("stock:places")

    title = f"Take {trough} out of use"
    return asking(request, form, do, title=title, button="Out of use", said="Out of use.")


def system_change(request: HttpRequest, system_id: int) -> HttpResponse:
    """Give a system another name, and its quarantine other rules."""
    system = get_system(system_id)
    rules = ("name", "least_days", "clean_checks", "check_days")
    form = SystemChangeForm(sent(request), initial={name: getattr(system, name) for name in rules})
    if not system.quarantine:
        form.only_name()

    def do() -> str:
        arranging.change_system(system.pk, by=person_of(request), **form.cleaned_data)
        return reverse("stock:places")

    away = reverse("stock:system_withdraw", args=[system.pk])
    title = f"Change {system}"
    return asking(request, form, do, title=title, button="Save", said="Changed.", away=away)


def system_withdraw(request: HttpRequest, system_id: int) -> HttpResponse:
    """Take a system without troughs out of use."""
    system = get_system(system_id)
    form = Form(sent(request))

    def do() -> str:
        arranging.withdraw_system(system.pk, by=person_of(request))
        return reverse("stock:places")

    title = f"Take {system} out of use"
    return asking(request, form, do, title=title, button="Out of use", said="Out of use.")


def asking(
    request: HttpRequest,
    form: Form,
    do: Callable[[], str],
    *,
    title: str,
    button: str,
    said: str,
    away: str = "",
    came: Sequence[str] = (),
) -> HttpResponse:
    """Ask, do, and go on; ``away`` leads to taking the place out of use.

    Args: ``came`` holds what else is said, once it is done.
    """
    done = submit(request, form, do)
    if done is not None:
        messages.success(request, " ".join(filter(None, [said, *came])))
        return done
    page = {"form": form, "title": title, "button": button, "away": away}
    return render(request, "stock/place_form.html", page, status=form_status(form))
