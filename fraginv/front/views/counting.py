"""Counting a rack: what is there, then what is settled."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import form_status, person_of, sent, submit, write_once
from fraginv.front.forms.counting import CountForm, SettleForm
from fraginv.front.queries.counting import kept_count, meant_by, to_settle
from fraginv.front.queries.racks import drawn_rack
from fraginv.front.queries.scans import Several
from fraginv.stock.actions.rack_counts import drop_count, keep_count, settle_count
from fraginv.stock.models import Rack
from fraginv.stock.queries.places import rack_by_code
from fraginv.stock.rules.counts import say_tally
from fraginv.stock.rules.moves import say_apart


def count(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Tick what is there, hole by hole or scan by scan; what was ticked is kept."""
    rack = rack_by_code(read_code(rack_code))
    page = drawn_rack(rack)
    kept = kept_count(rack, by=person_of(request))
    there = {int(frag): pieces for frag, pieces in kept.there.items()} if kept else None
    if request.GET.get("mark") == "all":
        there = {piece.frag.pk: piece.frag.pieces for piece in page.pieces}
    form = CountForm(sent(request), pieces=page.pieces, there=there)
    asked: dict[str, Any] = {}

    def do() -> str:
        try:
            return kept_from(form, rack, request, before=kept.extra if kept else [])
        except Several as error:
            asked.update(error.data)
            raise

    done = submit(request, form, do)
    if done is not None:
        if "?counted" in done["Location"]:
            messages.success(request, f"{rack}: all {page.summed.pieces} are there. Counted.")
        return done
    shown = {
        "rack": rack,
        "page": page,
        "form": form,
        "ticks": form.ticks(),
        "lots": [(piece, form[f"lot_{piece.frag.pk}"]) for piece in page.pieces if piece.is_lot],
        "kept": kept,
        "asked": asked,
    }
    return render(request, "front/rack_count.html", shown, status=form_status(form))


def kept_from(form: CountForm, rack: Rack, request: HttpRequest, *, before: list[int]) -> str:
    """Keep what a form says, and return where to go on; all there is settled at once."""
    person = person_of(request)
    found = [frag.pk for frag in meant_by(form.texts())]
    own = {piece.frag.pk for piece in form.pieces}
    extra = [*before, *(pk for pk in found if pk not in own)]
    there = form.there(pk for pk in found if pk in own)
    made = keep_count(rack.pk, there=there, extra=extra, by=person)
    if request.POST.get("then") == "later":
        return address_path(rack.code_id)
    made.there, made.extra = {str(frag): number for frag, number in there.items()}, extra
    if to_settle(rack, count=made).is_clear:
        settle_count(rack.pk, there=there, by=person)
        return f"{address_path(rack.code_id)}?counted=all"
    return reverse("front:rack_settle", args=[rack.code_id])


def settle(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Say what became of what is missing, and take in what is too many, together."""
    rack = rack_by_code(read_code(rack_code))
    person = person_of(request)
    kept = kept_count(rack, by=person)
    if kept is None:
        return HttpResponseRedirect(reverse("front:rack_count", args=[rack.code_id]))
    found = to_settle(rack, count=kept)
    form = SettleForm(sent(request), missing=found.missing)
    told: dict[str, int] = {}
    apart: list[int] = []

    def do() -> str:
        event = settle_count(
            rack.pk,
            there=found.there,
            extra=[piece.frag.pk for piece in found.extra],
            settled=form.settled(),
            elsewhere=form.cleaned_data.get("rack"),
            by=person,
        )
        told.update(event.body["settled"])
        apart[:] = [event.body.get("apart", 0)]
        return address_path(rack.code_id)

    done = submit(request, form, do)
    if done is not None:
        said = say_tally(told, cause=form.cleaned_data.get("cause", ""))
        words = f"{rack} is counted and settled"
        words = f"{words}: {said}." if said else f"{words}."
        messages.success(request, f"{words} {say_apart(sum(apart))}".rstrip())
        return done
    shown = {"rack": rack, "found": found, "form": form}
    return render(request, "front/rack_settle.html", shown, status=form_status(form))


def drop(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Throw a count away that was begun."""
    rack = rack_by_code(read_code(rack_code))

    def do() -> str:
        drop_count(rack.pk, by=person_of(request))
        return address_path(rack.code_id)

    done = write_once(request, do)
    messages.success(request, "The count was thrown away. Nothing else has changed.")
    return done
