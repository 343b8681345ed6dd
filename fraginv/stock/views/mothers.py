"""What is done to a colony that is there: barring, leaving, coming back; keeping a frag as one."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.actions.founding import party_named
from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.stock.actions.bars import bar_colony, lift_bar
from fraginv.stock.actions.leaving import (
    bring_back,
    display_colony,
    give_colony,
    offer_whole,
    record_death,
)
from fraginv.stock.actions.mothers import keep_as_colony
from fraginv.stock.actions.papers import say_no_paper
from fraginv.stock.forms.colonies import (
    BackForm,
    BarForm,
    DiedForm,
    GivenForm,
    LeftForm,
    MotherForm,
    WholeForm,
    WhyForm,
)
from fraginv.stock.models import Colony
from fraginv.stock.queries.bars import get_bar, held_under
from fraginv.stock.queries.cautions import paper_cautions
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.frags import frag_by_code
from fraginv.stock.queries.lineage import line_below
from fraginv.stock.queries.suppliers import suppliers_known
from fraginv.stock.views.parts import counted

Asked = Mapping[str, Any]
View = Callable[..., HttpResponse]


@dataclass(frozen=True)
class Words:
    """How a page puts what can be done: its title, its button, and what to know before."""

    title: str
    button: str
    about: str = ""
    danger: bool = False
    confirm: str = ""


@dataclass(frozen=True, kw_only=True)
class Act(Words):
    """One thing that can be done to a colony: what is asked, what is done, what is said.

    ``do`` returns the code of what is shown next; ``besides`` says what else there is to
    know of the colony with a code, once it is done.
    """

    form: type[forms.Form]
    do: Callable[[Colony, Asked, Person], str]
    said: str
    besides: Callable[[str], str] = lambda code: ""


def page_for(act: Act) -> View:
    """Return the page that asks for an act and does it."""

    def page(request: HttpRequest, colony_code: str) -> HttpResponse:
        colony = colony_by_code(read_code(colony_code))
        form = act.form(sent(request))

        def do() -> str:
            return address_path(act.do(colony, form.cleaned_data, person_of(request)))

        done = submit(request, form, do)
        if done is not None:
            messages.success(request, f"{act.said} {act.besides(colony.code_id)}".rstrip())
            return done
        return ask(request, form, colony=colony, act=act)

    return page


def ask(
    request: HttpRequest, form: forms.Form, *, colony: Colony, act: Words, **more: Any
) -> HttpResponse:
    """Show what an act asks of a colony."""
    names = suppliers_known() if "to" in form.fields else []
    page = {"act": act, "colony": colony, "form": form, "suppliers": names} | more
    return render(request, "stock/colony_act.html", page, status=form_status(form))


def die(colony: Colony, asked: Asked, by: Person) -> str:
    """Write down a death."""
    return record_death(colony.pk, by=by, **asked).code_id


def give(colony: Colony, asked: Asked, by: Person) -> str:
    """Write down to whom a colony was given."""
    to, _ = party_named(asked["to"])
    rest = {name: value for name, value in asked.items() if name != "to"}
    return give_colony(colony.pk, to=to, by=by, **rest).code_id


died = page_for(
    Act(
        title="The colony died",
        button="Record its death",
        form=DiedForm,
        do=die,
        said="Its death is recorded.",
        danger=True,
        confirm="Record that this colony died? Its frags are not touched.",
    )
)
given = page_for(
    Act(
        title="Give the colony away",
        button="Record that it was given",
        form=GivenForm,
        do=give,
        said="It is given, and is no longer cut.",
    )
)
displayed = page_for(
    Act(
        title="Place it in the display",
        button="Record that it is in the display",
        form=LeftForm,
        do=lambda colony, asked, by: display_colony(colony.pk, by=by, **asked).code_id,
        said="It is in the display, and is no longer cut.",
    )
)
whole = page_for(
    Act(
        title="Offer it whole",
        button="Offer it whole",
        form=WholeForm,
        do=lambda colony, asked, by: offer_whole(colony.pk, by=by, **asked).code_id,
        said="It is offered as this piece. Print its label.",
        about="It gets a code as one piece, ready, and is sold as any other. "
        "If nobody buys it, the piece is kept as this colony again.",
    )
)
back = page_for(
    Act(
        title="Bring it back",
        button="It is here again",
        form=BackForm,
        do=lambda colony, asked, by: bring_back(colony.pk, by=by, **asked).code_id,
        said="The colony is here again.",
        besides=lambda code: "" if colony_by_code(code).rack else "Its place is not known now.",
        about="For a mistake, or for what came back. What happened stays in its story.",
    )
)
no_paper = page_for(
    Act(
        title="There is no paper",
        button="Save",
        form=WhyForm,
        do=lambda colony, asked, by: say_no_paper(colony.pk, by=by, **asked).code_id,
        said="Noted. No paper is asked for any more.",
        about="Say why, as you would tell an inspector. This is no legal statement.",
    )
)

BAR = Words(
    title="Bar the colony",
    button="Bar it",
    about="A bar forbids to cut, sell and give it, its frags and every colony kept from "
    "them, also what is put aside already. Only the owner role lifts it.",
)
LIFT = Words(
    title="Lift the bar",
    button="Lift the bar",
    confirm="Lift the bar? What it forbade may be cut, sold and given then.",
)
KEEP = Words(
    title="Keep it as a colony",
    button="Keep it as a colony",
    about="All its pieces become one mother colony with a code of its own, and leave the frags: "
    "none of them is sold as a frag any more. "
    "It has bar, owner and terms from where it came.",
)

KEPT = (
    "Kept as a colony: print its label. If that was a mistake, press “Offer it whole” here: "
    "then it is one piece for sale again, under a new code."
)


def bar(request: HttpRequest, colony_code: str) -> HttpResponse:
    """Bar a colony, and say how many pieces that are put aside this touches."""
    colony = colony_by_code(read_code(colony_code))
    form = BarForm(sent(request))

    def do() -> str:
        bar_colony(colony, by=person_of(request), **form.cleaned_data)
        return address_path(colony.code_id)

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, say_barred(colony))
        return done
    return ask(request, form, colony=colony, act=BAR)


def say_barred(colony: Colony) -> str:
    """Say what a bar touches."""
    line = line_below(colony.pk)
    more = f", with {counted(len(line) - 1, 'colony', 'colonies')} kept from it" * (len(line) > 1)
    held = held_under(line)
    told = f" {counted(held, 'piece', 'pieces')} put aside cannot be sold now." if held else ""
    return f"Barred{more}.{told}"


def lift(request: HttpRequest, bar_id: int) -> HttpResponse:
    """Lift a bar; say so where another one still holds."""
    found = get_bar(bar_id)
    colony = colony_by_code(found.colony.code_id)
    form = WhyForm(sent(request))

    def do() -> str:
        lift_bar(bar_id, by=person_of(request), **form.cleaned_data)
        return address_path(colony.code_id)

    done = submit(request, form, do)
    if done is not None:
        colony.refresh_from_db(fields=["barred_because"])
        still = f" It stays barred: {colony.barred_because}." if colony.barred_because else ""
        messages.success(request, f"The bar is lifted.{still}")
        return done
    return ask(request, form, colony=colony, act=LIFT, bar=found)


def keep_frag(request: HttpRequest, frag_code: str) -> HttpResponse:
    """Keep a frag as a colony; what the law says of it stands above the button."""
    frag = frag_by_code(read_code(frag_code))
    form = MotherForm(sent(request))

    def do() -> str:
        colony = keep_as_colony(frag.pk, by=person_of(request), **form.cleaned_data)
        return address_path(colony.code_id)

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, KEPT)
        return done
    cautions = paper_cautions(frag.variety.genus, species=frag.variety.species)
    page = {"act": KEEP, "frag": frag, "form": form, "cautions": cautions}
    return render(request, "stock/frag_keep.html", page, status=form_status(form))
