"""What is done to one frag or to many at once."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path
from fraginv.base.web import form_status, person_of, sent, submit, way_back
from fraginv.stock.actions.aside import release_frags
from fraginv.stock.actions.grading import grade_frags, mark_healed, mark_not_ready
from fraginv.stock.actions.looks import mark_seen
from fraginv.stock.actions.moving import put_frags
from fraginv.stock.forms.fields import CodesField
from fraginv.stock.forms.frags import FragsForm, GradeForm, PlaceForm, ReleaseForm
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frags_carrying
from fraginv.stock.queries.likely import say_doubts
from fraginv.stock.rules.moves import say_moved
from fraginv.stock.views.parts import counted

View = Callable[[HttpRequest], HttpResponse]


@dataclass(frozen=True)
class Act:
    """One thing that can be done to frags: what is asked, what is done, what is said.

    ``besides`` says what else came of it, from what ``do`` returns.
    """

    title: str
    button: str
    form: type[FragsForm]
    do: Callable[[list[int], Mapping[str, Any], Person], object]
    said: Callable[[Mapping[str, Any]], str]
    about: str = ""
    warned: Callable[[list[Frag], Mapping[str, Any]], str] = lambda frags, asked: ""
    besides: Callable[[Any], str] = lambda done: ""


def page_for(act: Act) -> View:
    """Return the page that shows the chosen frags, asks for an act and does it."""

    def page(request: HttpRequest) -> HttpResponse:
        frags = frags_carrying(chosen(request))
        form = act.form(sent(request), initial=start(request, frags))
        came: list[str] = []

        def do() -> str:
            asked = dict(form.cleaned_data)
            del asked["codes"]
            back = way_back(asked.pop("back"), default=address_path(frags[0].code_id))
            did = act.do([frag.pk for frag in frags], asked, person_of(request))
            came[:] = [act.besides(did)]
            return back

        done = submit(request, form, do)
        if done is not None:
            said = act.said(form.cleaned_data)
            words = f"{counted(len(frags), 'frag', 'frags')} {said}."
            messages.success(request, " ".join(filter(None, [words, *came])))
            warning = act.warned(frags, form.cleaned_data)
            if warning:
                messages.warning(request, warning)
            return done
        shown = {"act": act, "frags": frags, "form": form}
        return render(request, "stock/frags_act.html", shown, status=form_status(form))

    return page


def chosen(request: HttpRequest) -> list[str]:
    """Return the codes of the frags that were ticked, or on whose page the button stood.

    Raises: InputError.
    """
    given = request.POST if request.method == "POST" else request.GET
    try:
        codes: list[str] = CodesField().clean(given.getlist("codes"))
    except ValidationError as error:
        raise InputError(" ".join(error.messages)) from error
    return codes


def start(request: HttpRequest, frags: list[Frag]) -> dict[str, Any]:
    """Return what stands in the form at first."""
    asked = {"codes": [frag.code_id for frag in frags], "back": request.GET.get("back", "")}
    first = frags[0]
    stands = {"size": first.size, "heads": first.heads, "fresh": first.fresh}
    return asked | stands | {"rack": first.rack_id}


grade = page_for(
    Act(
        title="Grade ready",
        button="Grade ready",
        form=GradeForm,
        do=lambda ids, asked, by: grade_frags(ids, by=by, **asked),
        said=lambda asked: (
            f"graded {'as a fresh cut' if asked['fresh'] else 'ready'}, size {asked['size']}"
        ),
        warned=lambda frags, asked: say_doubts(frags, size=asked["size"], heads=asked["heads"]),
    )
)
healed = page_for(
    Act(
        title="Healed",
        button="Yes, healed and growing",
        form=FragsForm,
        do=lambda ids, asked, by: mark_healed(ids, by=by),
        said=lambda asked: "healed and growing",
    )
)
not_ready = page_for(
    Act(
        title="Not ready after all",
        button="Yes, back to growing",
        form=FragsForm,
        do=lambda ids, asked, by: mark_not_ready(ids, by=by),
        said=lambda asked: "back to growing, and not for sale",
    )
)
place = page_for(
    Act(
        title="Place in a rack",
        button="Place",
        form=PlaceForm,
        do=lambda ids, asked, by: put_frags(ids, by=by, **asked),
        said=lambda asked: f"placed in {asked['rack']}",
        besides=say_moved,
    )
)
release = page_for(
    Act(
        title="Release",
        button="Release",
        form=ReleaseForm,
        do=lambda ids, asked, by: release_frags(ids, by=by, **asked),
        said=lambda asked: "released",
    )
)
clean = page_for(
    Act(
        title="Looked at, clean",
        button="Yes, all of these are clean",
        form=FragsForm,
        do=lambda ids, asked, by: mark_seen(ids, by=by),
        said=lambda asked: "looked at and clean",
    )
)
