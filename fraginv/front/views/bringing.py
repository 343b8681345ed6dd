"""The page that takes frags into a rack, one after another."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.rules.codes import address_path, read_code, show_code
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.front.bringing import Brought, Taken, bring
from fraginv.front.forms.racks import BringForm
from fraginv.front.queries.scans import Several
from fraginv.front.rules.drawn import say_frags
from fraginv.stock.models import Rack
from fraginv.stock.queries.places import rack_by_code
from fraginv.stock.rules.moves import say_moved


def bring_here(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Take frags into a rack; whoever stands in the hole is asked about, never in the way."""
    rack = rack_by_code(read_code(rack_code))
    holes = request.GET.get("holes", "next")
    form = BringForm(sent(request), initial={"holes": holes})
    asked: dict[str, Any] = {}
    came: list[str] = []

    def do() -> str:
        try:
            brought = brought_by(form, rack, request)
        except (Taken, Several) as error:
            asked.update(error.data)
            raise
        came[:] = [say_brought(brought, rack)]
        if form.cleaned_data["row"]:
            return address_path(rack.code_id)
        return f"{request.path}?holes={form.cleaned_data['holes'] or 'next'}"

    done = submit(request, form, do)
    if done is not None:
        for said in came:
            messages.success(request, said)
        return done
    status = form_status(form)
    form.require()
    shown = {"rack": rack, "form": form, "asked": asked}
    return render(request, "front/rack_bring.html", shown, status=status)


def brought_by(form: BringForm, rack: Rack, request: HttpRequest) -> Brought:
    """Do what a form asks for."""
    asked = form.cleaned_data
    hole = (asked["row"], asked["column"] or 0) if asked["row"] else None
    return bring(
        form.texts(),
        rack=rack,
        by=person_of(request),
        fill=asked["holes"] == "next",
        hole=hole,
        other=asked["other"],
    )


def say_brought(brought: Brought, rack: Rack) -> str:
    """Say which frags came, who made room, and what was set apart."""
    shown = ", ".join(show_code(frag.code_id) for frag in brought.frags[:3])
    more = len(brought.frags) - 3
    also = f" and {more} more" if more > 0 else ""
    said = f"{say_frags(len(brought.frags))} moved to {rack}: {shown}{also}."
    return f"{said} {say_moved(brought.moved)}".rstrip()
