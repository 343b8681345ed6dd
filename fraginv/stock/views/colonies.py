"""Writing down mother colonies, and changing what is written of them."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.actions.founding import party_named
from fraginv.base.rules.cautions import Caution
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.rules.roles import Right
from fraginv.base.web import form_status, person_of, sent, submit, tell
from fraginv.stock.actions.colonies import add_colony, change_colony
from fraginv.stock.actions.colony_log import last_event
from fraginv.stock.forms.colonies import CUTTING, PAPERS, TERMS, ColonyForm
from fraginv.stock.queries.cautions import paper_cautions
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.suppliers import suppliers_known
from fraginv.stock.views.catalogue import asked_of, has_read

SECTIONS = {
    "Papers and supplier": PAPERS,
    "Cutting": CUTTING,
    "Owner and terms": TERMS,
}


def colony_add(request: HttpRequest) -> HttpResponse:
    """Write down a mother colony; what the law says of it is shown before it is saved."""
    person = person_of(request)
    start = request.GET.dict()
    form = ColonyForm(sent(request), terms=person.can(Right.SET_TERMS), initial=start)
    cautions = colony_cautions(form)
    said: list[str] = []

    def do() -> str:
        facts = facts_of(form, said=said)
        colony = add_colony(facts.pop("variety"), by=person, **facts)
        said[:] = ["The colony has its code.", *said]
        return address_path(colony.code_id)

    if has_read(request, cautions):
        done = submit(request, form, do)
        if done is not None:
            tell(request, said)
            return done
    page = page_of(form, title="Add a colony", button="Add it") | {"cautions": cautions}
    return render(request, "stock/colony_form.html", page, status=form_status(form))


def colony_change(request: HttpRequest, colony_code: str) -> HttpResponse:
    """Change what is written of a colony."""
    colony, person = colony_by_code(read_code(colony_code)), person_of(request)
    form = ColonyForm(sent(request), terms=person.can(Right.SET_TERMS), colony=colony)
    said: list[str] = []

    def do() -> str:
        facts = facts_of(form, said=said)
        change_colony(colony.pk, by=person, seen=seen_asked(request), **facts)
        return address_path(colony.code_id)

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, " ".join(["Saved.", *said]))
        return done
    page = page_of(form, title="Change the colony", button="Save") | {
        "colony": colony,
        "last": last_event(colony.pk) if not form.is_bound else seen_asked(request),
    }
    return render(request, "stock/colony_form.html", page, status=form_status(form))


def seen_asked(request: HttpRequest) -> int | None:
    """Return the last event that stood on the form, or None where it does not say."""
    text = request.POST.get("last", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def facts_of(form: ColonyForm, *, said: list[str]) -> dict[str, Any]:
    """Return what the actions take, with parties found or written down by their names.

    What was written down by the way is said.
    """
    facts, told = form.values(), []
    for name in ("supplier", "owner"):
        if name not in facts:
            continue
        typed = facts[name].strip()
        facts[name], is_new = party_named(typed) if typed else (None, False)
        if is_new:
            told.append(f"{typed} is new: look whether it was only spelt otherwise.")
    said[:] = told
    return facts


def page_of(form: ColonyForm, *, title: str, button: str) -> dict[str, Any]:
    """Return what the page of a colony's form shows: first what matters, the rest folded."""
    folded = {name for names in SECTIONS.values() for name in names}
    sections = [
        (head, fields, any(field.errors for field in fields))
        for head, names in SECTIONS.items()
        if (fields := [form[name] for name in names if name in form.fields])
    ]
    return {
        "form": form,
        "first": [field for field in form if field.name not in folded],
        "sections": sections,
        "suppliers": suppliers_known(),
        "title": title,
        "button": button,
    }


def colony_cautions(form: ColonyForm) -> list[Caution]:
    """Return what to beware of with the variety that was chosen."""
    variety = asked_of(form).get("variety")
    if variety is None:
        return []
    return paper_cautions(variety.genus, species=variety.species)
