"""Writing off many frags at once, the list of losses, and taking one back."""

from collections.abc import Sequence

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.rules.roles import Right
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, way_back
from fraginv.stock.actions.losses import LossItem, Lost, record_losses, undo_losses
from fraginv.stock.forms.fields import MOST_FRAGS, CodesField
from fraginv.stock.forms.frags import LossForm
from fraginv.stock.forms.losses import LossesForm, ScannedForm
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frag_by_code, frags_carrying
from fraginv.stock.queries.losses import can_be_undone, loss_list, losses_with
from fraginv.stock.rules.moves import say_moved
from fraginv.stock.views.parts import counted

PAGE = 40
SHOWN_DONE = 40
SEPARATOR = "-"


def lose(request: HttpRequest, code: str) -> HttpResponse:
    """Ask how many pieces of a frag died, and why, and write them off."""
    frag = frag_by_code(read_code(code))
    form = LossForm(sent(request), initial=request.GET.dict())
    lost: list[Lost] = []

    def do() -> str:
        asked = dict(form.cleaned_data)
        item = LossItem(frag.pk, asked.pop("pieces"))
        lost.append(record_losses([item], by=person_of(request), **asked))
        return address_path(frag.code_id)

    done = submit(request, form, do)
    if done is not None:
        say_lost(request, lost)
        return done
    page = {"frag": frag, "form": form}
    return render(request, "stock/frag_lose.html", page, status=form_status(form))


def lose_many(request: HttpRequest) -> HttpResponse:
    """Ask why the chosen frags died, and write them off; without any, ask for their codes."""
    scanned = ScannedForm(request.GET if "more" in request.GET else None)
    frags = frags_asked(request, scanned=scanned)
    back = request.GET.get("back", "")
    start = {"codes": [frag.code_id for frag in frags], "back": back}
    form = LossesForm(sent(request), initial=start, frags=frags)
    lost: list[Lost] = []

    def do() -> str:
        asked = {name: form.cleaned_data[name] for name in ("cause", "day", "note")}
        lost.append(record_losses(form.items(), by=person_of(request), **asked))
        done = SEPARATOR.join(str(loss.pk) for loss in lost[-1].losses[:SHOWN_DONE])
        query = f"done={done}&back={way_back(form.cleaned_data['back'], default='')}"
        return f"{reverse('stock:losses')}?{query}"

    done = submit(request, form, do) if frags else None
    if done is not None:
        say_lost(request, lost)
        return done
    page = {"frags": frags, "form": form, "scanned": scanned, "back": back}
    return render(request, "stock/frags_lose.html", page, status=status_of(form, scanned))


def status_of(*forms: Form) -> int:
    """Return the status of a page with forms of which one may have errors."""
    return max(form_status(form) for form in forms)


def frags_asked(request: HttpRequest, *, scanned: ScannedForm) -> list[Frag]:
    """Return the frags that were chosen before and those whose codes were just typed.

    What was typed and is no frag is said on the form, and the others are kept.
    Raises: InputError for chosen codes that are none, or too many.
    """
    given = request.POST if request.method == "POST" else request.GET
    codes = given.getlist("codes")
    try:
        chosen: list[str] = CodesField().clean(codes) if codes else []
    except ValidationError as error:
        raise InputError(" ".join(error.messages)) from error
    found = frags_carrying(chosen) if chosen else []
    known = {frag.code_id for frag in found}
    if not scanned.is_bound or not scanned.is_valid():
        return found
    for typed in scanned.cleaned_data["more"].replace(",", " ").split()[:MOST_FRAGS]:
        try:
            code = read_code(typed)
            found += [] if code in known else frags_carrying([code])
            known.add(code)
        except FraginvError as error:
            scanned.add_error("more", error.message)
    return found


def say_lost(request: HttpRequest, lost: Sequence[Lost]) -> None:
    """Say how much was written off, and who had some of it put aside."""
    for one in lost:
        pieces = sum(loss.pieces for loss in one.losses)
        messages.success(request, f"{counted(pieces, 'piece', 'pieces')} written off as lost.")
        told = say_promised(one, reader=person_of(request))
        if told:
            messages.warning(request, told)


def say_promised(lost: Lost, *, reader: Person) -> str:
    """Say whose pieces died while they were put aside, or nothing."""
    if not lost.promised:
        return ""
    if not reader.can(Right.SEE_CUSTOMERS):
        pieces = sum(count for _, count in lost.promised)
        return f"{counted(pieces, 'of them was', 'of them were')} put aside. Tell a seller."
    names = ", ".join(f"{name} ({count})" for name, count in lost.promised)
    return f"Put aside for {names}: tell them. What is left of a hold goes on."


def losses(request: HttpRequest) -> HttpResponse:
    """Show losses, the latest day first, and let those of the last hour be taken back."""
    portion = loss_list(size=PAGE, after=after_asked(request))
    done = losses_with(ids_in(request.GET.get("done", "")))
    page = {
        "portion": portion,
        "rows": [(loss, can_be_undone(loss)) for loss in portion.rows],
        "done": [loss for loss in done if can_be_undone(loss)],
        "back": way_back(request.GET.get("back", ""), default=""),
    }
    return render(request, "stock/loss_list.html", page)


def ids_in(text: str) -> list[int]:
    """Return the ids in an address; what is none is left out."""
    parts = text.split(SEPARATOR)[:SHOWN_DONE]
    return [int(part) for part in parts if part.isascii() and part.isdecimal() and len(part) < 16]


def undo(request: HttpRequest) -> HttpResponse:
    """Take back the losses that were named, where they are of the last hour."""
    form = Form(sent(request))
    ids = ids_in(SEPARATOR.join(request.POST.getlist("losses")))
    came: list[str] = []

    def do() -> str:
        came[:] = [say_moved(undo_losses(ids, by=person_of(request)))]
        return way_back(request.POST.get("back", ""), default=reverse("stock:losses"))

    done = submit(request, form, do)
    if done is not None:
        words = f"{counted(len(ids), 'loss', 'losses')} taken back."
        messages.success(request, " ".join(filter(None, [words, *came])))
        return done
    for error in form.non_field_errors():
        messages.error(request, str(error))
    return losses(request)
