"""Scanning: the page that stays open, and what it asks the server."""

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from fraginv.base import clock
from fraginv.base.errors import FraginvError, InputError
from fraginv.base.headers import permissions
from fraginv.base.pixels import grey_picture
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.days import business_day, month_of
from fraginv.base.rules.roles import Right
from fraginv.base.show import show_month
from fraginv.base.symbols import read_symbols
from fraginv.base.web import person_of, wants_json, write_once
from fraginv.front.forms.scans import FORMS
from fraginv.front.queries.scan_answers import done_path, looked_up, told
from fraginv.front.rules.scans import (
    OFFERED,
    Act,
    Offered,
    OtherPerson,
    Overtaken,
    moment_of,
    say_late,
)
from fraginv.front.scanning import Scan, carry_out
from fraginv.stock.queries.places import racks
from fraginv.stock.rules.stages import CAUSES, SIZES

View = Callable[[HttpRequest], HttpResponse]
MOST_FRAME_BYTES = 300_000
SENT_TO: Mapping[Act, str] = {
    Act.SEEN: "front:scan_seen",
    Act.MOVE: "front:scan_move",
    Act.READY: "front:scan_ready",
    Act.UNREADY: "front:scan_unready",
    Act.LOSE: "front:scan_lose",
    Act.UNLOSE: "front:scan_unlose",
    Act.LABEL: "front:scan_label",
    Act.UNLABEL: "front:scan_unlabel",
}


def scan(request: HttpRequest) -> HttpResponse:
    """Show the page that scans; ``do`` says what a scan does, and others what was chosen."""
    return page(request, request.GET)


def page(
    request: HttpRequest, asked: QueryDict, *, error: str = "", status: int = 200
) -> HttpResponse:
    """Show the page as it was left, perhaps with what went wrong."""
    may = [one for one in OFFERED if person_of(request).can(one.right)]
    current = next((one for one in may if one.act == asked.get("do")), may[0])
    shown = {
        "acts": [(one, address_of(one, asked)) for one in may],
        "current": current,
        "send_url": url_of(current.act),
        "urls": {act.value: reverse(name) for act, name in SENT_TO.items()},
        "asked": asked,
        "racks": racks() if person_of(request).can(Right.PLACE) else [],
        "causes": CAUSES.items(),
        "sizes": SIZES.items(),
        "now": clock.now().isoformat(timespec="milliseconds"),
        "error": error,
    }
    answer = render(request, "front/scan.html", shown, status=status)
    answer["Permissions-Policy"] = permissions("camera")
    return answer


def url_of(act: Act) -> str:
    """Return where a scan is sent."""
    return reverse(SENT_TO.get(act, "front:scan_look"))


def address_of(offered: Offered, asked: Mapping[str, Any]) -> str:
    """Return the address of the page where a scan does this, with what was chosen for it."""
    keep = {offered.asks: asked[offered.asks]} if asked.get(offered.asks) else {}
    return f"{reverse('front:scan')}?{urlencode({'do': offered.act.value} | keep)}"


def page_for(act: Act) -> View:
    """Return the address to which scans of one act are sent, each once under its key."""

    def send(request: HttpRequest) -> HttpResponse:
        try:
            made = scan_sent(request, act)
            done = write_once(request, lambda: done_path(carry_out(made)))
        except Overtaken as error:
            return refused(request, act, Overtaken(error.message + late(made, done=False)))
        except FraginvError as error:
            return refused(request, act, error)
        if wants_json(request):
            answer = told(QueryDict(done["Location"].partition("?")[2]).dict())
            answer["said"] += late(made, done=True)
            return JsonResponse(answer)
        return done

    return send


def late(made: Scan, *, done: bool) -> str:
    """Say in which month a scan counts that waited into another one, or nothing."""
    house = organisation()
    scanned, present = (
        show_month(month_of(day), house) for day in (business_day(made.at, house.zone), today())
    )
    return say_late(made.act, scanned_in=scanned, counts_in=present, done=done)


def scan_sent(request: HttpRequest, act: Act) -> Scan:
    """Read one scan.

    Raises: InputError for what cannot be read; OtherPerson where somebody else made it.
    """
    form = FORMS[act](request.POST)
    if not form.is_valid():
        first, *_ = [str(words) for errors in form.errors.values() for words in errors]
        raise InputError(first)
    asked, person = form.cleaned_data, person_of(request)
    if asked["person"] not in (None, person.pk):
        raise OtherPerson(
            "This was scanned by somebody else. It is sent when they sign in on this phone "
            "and open this page."
        )
    moment = moment_of(asked["at"], now=clock.now())
    return Scan(act, asked["code"], moment, person, form.chosen())


def refused(request: HttpRequest, act: Act, error: FraginvError) -> HttpResponse:
    """Say what was wrong with a scan; the page stays as it was."""
    if wants_json(request):
        told = {"code": error.code, "message": error.message}
        choices = error.data.get("choices", [])
        return JsonResponse(told | {"choices": choices}, status=error.status)
    asked = request.POST.copy()
    asked["do"] = act.value
    return page(request, asked, error=error.message, status=error.status)


seen, move = page_for(Act.SEEN), page_for(Act.MOVE)
ready, unready = page_for(Act.READY), page_for(Act.UNREADY)
lose, unlose = page_for(Act.LOSE), page_for(Act.UNLOSE)
label, unlabel = page_for(Act.LABEL), page_for(Act.UNLABEL)


def done(request: HttpRequest) -> HttpResponse:
    """Tell what came of a scan, also of one that was sent before."""
    facts = {name: str(value) for name, value in request.GET.items()}
    answer = told(facts)
    if wants_json(request):
        return JsonResponse(answer)
    messages.success(request, f"{answer['shown']}, {answer['name']}: {answer['said']}")
    names = ("do", "rack", "cause", "size")
    kept: dict[str, str] = {name: facts[name] for name in names if name in facts}
    return HttpResponseRedirect(f"{reverse('front:scan')}?{urlencode(kept)}")


def look(request: HttpRequest) -> HttpResponse:
    """Tell what carries a code; without a script lead to its page."""
    text = request.GET.get("code", "")[:200]
    if not wants_json(request):
        return HttpResponseRedirect(f"{reverse('front:find')}?{urlencode({'q': text})}")
    try:
        return JsonResponse(looked_up(text))
    except FraginvError as error:
        return refused(request, Act.LOOK, error)


def frame(request: HttpRequest) -> HttpResponse:
    """Read the symbols in one small picture of a camera; nothing of it is kept."""
    if int(request.META.get("CONTENT_LENGTH") or 0) > MOST_FRAME_BYTES:
        raise InputError("This picture is too large to be read at once. Send a smaller one.")
    if request.content_type == "multipart/form-data":  # its body is taken apart already
        raise InputError(
            "Send the picture by itself, as JPEG, PNG, WebP or HEIC, and not in a form."
        )
    pixels, width, height = grey_picture(request.body)
    found = read_symbols(pixels, width=width, height=height)
    return JsonResponse({"ok": True, "texts": [one.text for one in found]})
