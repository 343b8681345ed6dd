"""The page that a label opens: one for the crew, another for visitors."""

from collections.abc import Callable, Mapping

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError, NotFound
from fraginv.base.models import Code, Person
from fraginv.base.queries.codes import get_code
from fraginv.base.rules.codes import CodeError, address_path, read_code, show_code
from fraginv.base.rules.roles import Right
from fraginv.base.throttle import throttled
from fraginv.base.web import person_of
from fraginv.front.queries.colony_pages import colony_page
from fraginv.front.queries.pages import FragPage, frag_page
from fraginv.front.queries.public import public_frag, public_photo
from fraginv.front.views.further import further_steps
from fraginv.front.views.racks import rack_for_crew
from fraginv.front.views.steps import sizes_for, steps_for
from fraginv.growth.models import Photo
from fraginv.stock.models import Frag
from fraginv.stock.queries.cautions import poison_cautions
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.frags import code_now, find_frag

Page = Callable[[HttpRequest, str], HttpResponse]


@throttled()
def code_page(request: HttpRequest, text: str) -> HttpResponse:
    """Show what carries a code, as far as the reader may see it."""
    try:
        text = read_code(text)
        frag = find_frag(text)
        code = get_code(text) if frag is None else frag.code
    except CodeError as error:
        return trouble(request, error, title="Look at the label again")
    except NotFound as error:
        return trouble(request, error, title="Not one of ours")
    if frag is not None:
        show = frag_for_crew if is_crew(request) else frag_for_visitors
        return show(request, frag)
    now = code_now(text) if code.kind == Code.Kind.FRAG else ""
    if now:
        return HttpResponseRedirect(address_path(now))
    pages = CREW if is_crew(request) else VISITORS
    return pages.get(code.kind, nothing_here)(request, code.code)


def is_crew(request: HttpRequest) -> bool:
    """Tell whether one of the crew reads the page."""
    return isinstance(request.user, Person) and request.user.can(Right.SEE_STOCK)


def trouble(request: HttpRequest, error: FraginvError, *, title: str) -> HttpResponse:
    """Say what is wrong with a code, and where to go on."""
    crew = is_crew(request)
    shown = {
        "title": title,
        "message": error.message,
        "status": error.status,
        "url": reverse("front:find" if crew else "people:sign_in"),
        "action": "Find it another way" if crew else "Sign in as one of the crew",
    }
    return render(request, "base/error.html", shown, status=error.status)


def frag_for_crew(request: HttpRequest, frag: Frag) -> HttpResponse:
    """Show a frag with what can be done next."""
    person = person_of(request)
    page = frag_page(frag, reader=person)
    further = further_steps(page, person)
    steps = steps_for(page, person) + [step for step in further if step.leads]
    shown = {
        "page": page,
        "frag": page.frag,
        "first_steps": [step for step in steps if step.leads],
        "steps": [step for step in steps if not step.leads],
        "further": [step for step in further if not step.leads],
        "sizes": sizes_for(page, person),
        "to_measure": just_filed(request, page),
    }
    return render(request, "front/frag_detail.html", shown)


def just_filed(request: HttpRequest, page: FragPage) -> Photo | None:
    """Return the photo that was filed a moment ago, which may be measured at once, or None."""
    asked = request.GET.get("filed", "")
    fresh = (shot.photo for shot in page.shots if not shot.said and str(shot.photo.pk) == asked)
    return next(fresh, None) if person_of(request).can(Right.FILE_PHOTO) else None


def colony_for_crew(request: HttpRequest, code: str) -> HttpResponse:
    """Show a colony; straight after a cutting go to what was cut."""
    just_cut = request.GET.get("cutting", "")
    if just_cut.isascii() and just_cut.isdigit() and len(just_cut) < 10:
        return HttpResponseRedirect(reverse("front:cutting", args=[int(just_cut)]))
    page = colony_page(colony_by_code(code))
    return render(request, "front/colony_detail.html", {"page": page, "colony": page.colony})


def blank_for_crew(request: HttpRequest, code: str) -> HttpResponse:
    """Say that a printed label is not in use yet, and offer to cut with it, or that it never is."""
    shown = {"code": code, "thrown_away": get_code(code).run is None}
    return render(request, "front/code_blank.html", shown)


def frag_for_visitors(request: HttpRequest, frag: Frag) -> HttpResponse:
    """Show a visitor what a piece is, how old, what it needs and what it costs."""
    return render(request, "front/frag_public.html", {"page": public_frag(frag)})


def colony_for_visitors(request: HttpRequest, code: str) -> HttpResponse:
    """Show a visitor what a mother colony is."""
    colony = colony_by_code(code)
    shown = {
        "variety": colony.variety,
        "state": colony.state,
        "photo": public_photo(colony),
        "code": code,
        "cautions": poison_cautions(colony.variety.genus),
    }
    return render(request, "front/colony_public.html", shown)


def rack_for_visitors(request: HttpRequest, code: str) -> HttpResponse:
    """Send a visitor to the pieces' own labels."""
    error = NotFound("This label marks a place for the crew. Scan the label of a piece instead.")
    return trouble(request, error, title="A place, not a piece")


def nothing_here(request: HttpRequest, code: str) -> HttpResponse:
    """Say that nothing carries the code yet."""
    error = NotFound(
        f"{show_code(code)} is not in use yet: its label was printed ahead. "
        "Ask one of the crew about the piece that it stands at."
    )
    return trouble(request, error, title="Not in use yet")


CREW: Mapping[str, Page] = {
    Code.Kind.COLONY: colony_for_crew,
    Code.Kind.RACK: rack_for_crew,
    Code.Kind.BLANK: blank_for_crew,
}
VISITORS: Mapping[str, Page] = {
    Code.Kind.COLONY: colony_for_visitors,
    Code.Kind.RACK: rack_for_visitors,
}
