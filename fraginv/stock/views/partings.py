"""Frags that part, grow together, get another label, are counted or found."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path, read_code, show_code
from fraginv.base.web import form_status, person_of, sent, submit, tell
from fraginv.stock.actions.care import relabel_frag
from fraginv.stock.actions.counting import count_lot, found_again
from fraginv.stock.actions.parts import join_frags, recut_frag, split_frag
from fraginv.stock.forms.parts import (
    CountForm,
    FoundForm,
    JoinForm,
    RecutForm,
    RelabelForm,
    SplitForm,
)
from fraginv.stock.models import Frag
from fraginv.stock.queries.cautions import bench_cautions, poison_cautions
from fraginv.stock.queries.frags import frag_by_code
from fraginv.stock.queries.likely import likely_partners
from fraginv.stock.rules.moves import say_moved
from fraginv.stock.views.cutting import has_read
from fraginv.stock.views.parts import counted

View = Callable[..., HttpResponse]
CODES_SAID = 12


@dataclass(frozen=True)
class Done:
    """Where an act leads, and what is said of it."""

    frag: Frag
    said: str


@dataclass(frozen=True)
class Act:
    """One thing that is done to a frag: what is asked, what is done, what stands beside it.

    ``start`` is what stands in the form at first; ``cuts`` asks for the cautions of the bench.
    """

    title: str
    button: str
    form: type[forms.Form]
    do: Callable[[Frag, Any, Person], Done]
    start: Callable[[Frag], dict[str, Any]] = lambda frag: {}
    template: str = "stock/frag_act.html"
    partners: Callable[[Frag], Sequence[Frag]] = lambda frag: ()
    cuts: bool = False
    confirm: str = ""


def page_for(act: Act) -> View:
    """Return the page that asks for an act, does it and says what came of it."""

    def page(request: HttpRequest, code: str) -> HttpResponse:
        frag = frag_by_code(read_code(code))
        form = act.form(sent(request), initial=act.start(frag))
        said: list[str] = []

        def do() -> str:
            done = act.do(frag, form, person_of(request))
            said[:] = [done.said]
            return address_path(done.frag.code_id)

        done = submit(request, form, do)
        if done is not None:
            tell(request, said)
            return done
        poisons = poison_cautions(frag.variety.genus)
        shown = {
            "act": act,
            "frag": frag,
            "form": form,
            "back": address_path(frag.code_id),
            "partners": act.partners(frag),
        }
        if act.cuts:
            unread = bool(poisons) and not has_read(request)
            shown |= {"cautions": poisons, "bench": bench_cautions(), "unread": unread}
        return render(request, act.template, shown, status=form_status(form))

    return page


def say_codes(frags: Sequence[Frag]) -> str:
    """Say the codes of frags that were made, the first of them where there are many."""
    told = ", ".join(show_code(frag.code_id) for frag in frags[:CODES_SAID])
    more = len(frags) - CODES_SAID
    return f"{told} and {more} more" if more > 0 else told


def do_split(frag: Frag, form: SplitForm, by: Person) -> Done:
    """Let pieces leave a lot."""
    parts = split_frag(frag.pk, by=by, **form.values())
    left = counted(form.cleaned_data["pieces"], "piece has", "pieces have")
    said = f"{left} left the lot: {say_codes(parts)}. Print a label if none was at hand."
    return Done(parts[0] if len(parts) == 1 else frag, said)


def do_recut(frag: Frag, form: RecutForm, by: Person) -> Done:
    """Cut one piece into several."""
    parts = recut_frag(frag.pk, by=by, **form.cleaned_data)
    return Done(frag, f"Cut again, all heal anew. The new ones: {say_codes(parts)}.")


def do_join(frag: Frag, form: JoinForm, by: Person) -> Done:
    """Let two become one."""
    other = frag_by_code(read_code(form.cleaned_data["other"]))
    join_frags(frag.pk, other_ids=[other.pk], by=by)
    return Done(frag, f"{show_code(other.code_id)} is one with it now.")


def do_relabel(frag: Frag, form: RelabelForm, by: Person) -> Done:
    """Bind another label to a frag."""
    old = frag.code_id
    now = relabel_frag(frag.pk, by=by, **form.cleaned_data)
    said = f"{show_code(old)} is {show_code(now.code_id)} now. The old code still leads to it."
    return Done(now, said)


def do_count(frag: Frag, form: CountForm, by: Person) -> Done:
    """Bring a lot to what was counted."""
    more = count_lot(frag.pk, by=by, **form.cleaned_data)
    if more == 0:
        return Done(frag, "The number is right. It counts as seen today.")
    said = counted(abs(more), "piece", "pieces")
    return Done(frag, f"{said} {'found again' if more > 0 else 'written off as lost'}.")


def do_found(frag: Frag, form: FoundForm, by: Person) -> Done:
    """Have pieces again that were written off."""
    moved = found_again(frag.pk, by=by, **form.cleaned_data)
    words = f"{counted(form.cleaned_data['pieces'], 'piece', 'pieces')} found again."
    return Done(frag, f"{words} {say_moved(moved)}".rstrip())


split = page_for(Act("Split off", "Split off", SplitForm, do_split))
recut = page_for(
    Act(
        "Cut again",
        "Record the cut",
        RecutForm,
        do_recut,
        template="stock/frag_recut.html",
        cuts=True,
    )
)
join = page_for(
    Act(
        "Grown together",
        "They are one now",
        JoinForm,
        do_join,
        template="stock/frag_join.html",
        partners=likely_partners,
        confirm="Make them one? The other ends, and what it was goes on under this code.",
    )
)
relabel = page_for(Act("New label", "Use this label", RelabelForm, do_relabel))
count = page_for(
    Act("Count the lot", "Save", CountForm, do_count, start=lambda frag: {"pieces": frag.pieces})
)
found = page_for(
    Act(
        "Found again", "Found again", FoundForm, do_found, start=lambda frag: {"rack": frag.rack_id}
    )
)
