"""The first page, the lists, and finding."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from fraginv.base.rules.roles import Right
from fraginv.base.web import person_of
from fraginv.front.forms.lists import STAGES, FragFilterForm
from fraginv.front.queries.find import Found, find, find_while_typing
from fraginv.front.queries.first_steps import first_steps
from fraginv.front.queries.pages import cutting_page
from fraginv.front.queries.rows import FOR_SALE, colony_rows, frag_list, with_prices
from fraginv.front.queries.today import today_page
from fraginv.front.rules.finding import count_words
from fraginv.front.views.steps import may_choose
from fraginv.stock.queries.colonies import get_cutting
from fraginv.stock.queries.varieties import get_variety
from fraginv.stock.rules.stages import ENDED
from fraginv.upkeep.queries.health import not_well

SHOWN_COLONIES = 200
LONGEST_TEXT = 200


def today(request: HttpRequest) -> HttpResponse:
    """Show what matters now, and to who sees to the house what in it needs a look."""
    looks = not_well() if person_of(request).can(Right.RUN_HOUSE) else []
    page = today_page()
    steps = [] if page.cuttings else first_steps(person_of(request))
    return render(request, "front/today.html", {"page": page, "looks": looks, "steps": steps})


def frags(request: HttpRequest) -> HttpResponse:
    """List frags by stage, variety or text."""
    form = FragFilterForm(request.GET)
    form.is_valid()
    asked = form.cleaned_data
    stage, text, number = asked.get("stage", ""), asked.get("q", ""), asked.get("variety")
    variety = get_variety(number) if number else None
    rows = frag_list(stage=stage, variety=number, text=text, after=asked.get("after"))
    person = person_of(request)
    may_price = stage == FOR_SALE and person.can(Right.SEE_PRICES)
    page = {
        "list": with_prices(rows) if may_price else rows,
        "stage": stage,
        "stages": STAGES,
        "text": text,
        "variety": variety,
        "choosing": stage not in ENDED and may_choose(person),
        "back": request.get_full_path(),
    }
    return render(request, "front/frag_list.html", page)


def colonies(request: HttpRequest) -> HttpResponse:
    """List colonies; with ``?first=`` a printed label is on its way to a cutting."""
    text = " ".join(request.GET.get("q", "").split())
    found = colony_rows(text=text, most=SHOWN_COLONIES)
    page = {"rows": found, "text": text, "first": request.GET.get("first", "")[:20]}
    return render(request, "front/colony_list.html", page)


def cutting(request: HttpRequest, cutting_id: int) -> HttpResponse:
    """Show a cutting and its frags."""
    found = get_cutting(cutting_id)
    page = {
        "cutting": found,
        "page": cutting_page(found),
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/cutting_detail.html", page)


def search(request: HttpRequest) -> HttpResponse:
    """Go to what a text means, or list what it may mean."""
    text = typed_text(request)
    found = find(text, reader=person_of(request)) if text else None
    if found is not None and found.path:
        return HttpResponseRedirect(found.path)
    status = 404 if found is not None and found.is_empty else 200
    return render(request, "front/find.html", {"found": found, "text": text}, status=status)


def answers(request: HttpRequest) -> HttpResponse:
    """Give the few best answers to what was typed so far, for the field that finds."""
    text = typed_text(request)
    found = find_while_typing(text, reader=person_of(request)) if text else Found()
    said = count_words(len(found.answers), more=found.more)
    return render(request, "front/_find_answers.html", {"found": found, "said": said})


def typed_text(request: HttpRequest) -> str:
    """Return what was typed into the field that finds, cut where no name is as long."""
    return request.GET.get("q", "").strip()[:LONGEST_TEXT]
