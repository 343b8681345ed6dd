"""What is likely ready, and the page of a variety."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Right
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.front.forms.ready import ReadyForm
from fraginv.front.queries.candidates import candidates
from fraginv.front.queries.varieties import variety_page
from fraginv.stock.actions.grading import grade_frags, look_later
from fraginv.stock.queries.frags import frags_carrying
from fraginv.stock.queries.likely import say_doubts
from fraginv.stock.queries.places import get_trough, racks
from fraginv.stock.queries.varieties import get_variety
from fraginv.stock.rules.ready import LOOK_AGAIN_DAYS
from fraginv.stock.rules.stages import SIZES

LONGEST_ID = 10


def ready(request: HttpRequest) -> HttpResponse:
    """List what is likely ready, everywhere or in a rack or trough, and grade it by taps."""
    form = ReadyForm(sent(request))
    said: list[str] = []

    def do() -> str:
        asked = form.cleaned_data
        frags = frags_carrying(asked["codes"])
        ids = [frag.pk for frag in frags]
        many = f"{len(frags)} frags" if len(frags) > 1 else show_code(frags[0].code_id)
        if asked.get("later"):
            look_later(ids, by=person_of(request))
            said[:] = [f"{many}: not ready yet, asked again in {LOOK_AGAIN_DAYS} days.", ""]
            return request.get_full_path()
        grade_frags(ids, size=asked["size"], heads=asked["heads"], by=person_of(request))
        doubts = say_doubts(frags, size=asked["size"], heads=asked["heads"])
        said[:] = [f"{many} graded ready, size {SIZES[asked['size']]}.", doubts]
        return request.get_full_path()

    done = submit(request, form, do)
    if done is not None:
        tell_graded(request, said)
        return done
    rack, trough = number_in(request, "rack"), number_in(request, "trough")
    found = candidates(rack=rack, trough=trough, after=request.GET.get("after", ""))
    page = {
        "list": found,
        "form": form,
        "place": place_of(rack=rack, trough=trough),
        "sizes": [(size, "Mini" if size == "mini" else word) for size, word in SIZES.items()],
        "grading": person_of(request).can(Right.GRADE),
    }
    return render(request, "front/ready_list.html", page, status=form_status(form))


def tell_graded(request: HttpRequest, said: list[str]) -> None:
    """Say what was graded, and what speaks against it."""
    if said:
        messages.success(request, said[0])
    if said and said[1]:
        messages.warning(request, said[1])


def number_in(request: HttpRequest, name: str) -> int | None:
    """Return a number in the page's address, or None.

    Raises: InputError for what is none.
    """
    text = request.GET.get(name, "")
    if not text:
        return None
    if not (text.isascii() and text.isdigit()) or len(text) > LONGEST_ID:
        raise InputError("There is no such place. Begin with the whole list.")
    return int(text)


def place_of(*, rack: int | None, trough: int | None) -> str:
    """Name the place to which the list is narrowed, or nothing.

    Raises: NotFound for a trough that is not there; InputError for such a rack.
    Queries: 1 for a place.
    """
    if rack is not None:
        found = racks().filter(pk=rack).first()
        if found is None:
            raise InputError("There is no such rack. Begin with the whole list.")
        return str(found)
    return str(get_trough(trough)) if trough is not None else ""


def variety(request: HttpRequest, variety_id: int) -> HttpResponse:
    """Show a variety: its rule, care, colonies, and what lives of it."""
    found = get_variety(variety_id)
    shown = {"variety": found, "page": variety_page(found), "back": request.path}
    return render(request, "front/variety_detail.html", shown)
