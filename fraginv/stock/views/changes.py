"""What is done to a frag that is there, one at a time."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.stock.actions.aside import keep_back, quarantine_frags, release_frags, set_apart
from fraginv.stock.forms.frags import KeepForm, LeaveForm, QuarantineForm, ReasonForm
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frag_by_code

Asked = Mapping[str, Any]
View = Callable[..., HttpResponse]


@dataclass(frozen=True)
class Act:
    """One thing that can be done to a frag: what is asked, what is done, what is said."""

    title: str
    button: str
    form: type[forms.Form]
    do: Callable[[Frag, Asked, Person], object]
    said: Callable[[Asked], str]
    danger: bool = False
    confirm: str = ""


def page_for(act: Act) -> View:
    """Return the page that asks for an act and does it."""

    def page(request: HttpRequest, code: str) -> HttpResponse:
        frag = frag_by_code(read_code(code))
        form = act.form(sent(request), initial=request.GET.dict())

        def do() -> str:
            act.do(frag, form.cleaned_data, person_of(request))
            return address_path(frag.code_id)

        done = submit(request, form, do)
        if done is not None:
            messages.success(request, act.said(form.cleaned_data))
            return done
        shown = {"act": act, "frag": frag, "form": form, "back": address_path(frag.code_id)}
        return render(request, "stock/frag_act.html", shown, status=form_status(form))

    return page


set_aside = page_for(
    Act(
        title="Set apart",
        button="Set apart",
        form=ReasonForm,
        do=lambda frag, asked, by: set_apart([frag.pk], by=by, **asked),
        said=lambda asked: "Set apart: not for sale until it is released.",
    )
)
quarantine = page_for(
    Act(
        title="Take to quarantine",
        button="Take to quarantine",
        form=QuarantineForm,
        do=lambda frag, asked, by: quarantine_frags([frag.pk], by=by, **asked),
        said=lambda asked: "In quarantine: not for sale until it is released.",
    )
)
release = page_for(
    Act(
        title="Release",
        button="Release",
        form=LeaveForm,
        do=lambda frag, asked, by: release_frags([frag.pk], by=by, **asked),
        said=lambda asked: "Released.",
    )
)
keep = page_for(
    Act(
        title="Keep back",
        button="Save",
        form=KeepForm,
        do=lambda frag, asked, by: keep_back([frag.pk], kept=asked["kept"] == "yes", by=by),
        said=lambda asked: "Kept back." if asked["kept"] == "yes" else "No longer kept back.",
    )
)
