"""The first page, the lists, and finding."""

from dataclasses import replace

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from fraginv.base.rules.roles import Right
from fraginv.base.web import after_asked, person_of
from fraginv.front.forms.lists import FragFilterForm
from fraginv.front.narrowing import Narrowing, narrowed_wrongly
from fraginv.front.queries.asked_things import frag_things, said_of_frags
from fraginv.front.queries.bench import is_of_sitting
from fraginv.front.queries.find import Found, find, find_while_typing
from fraginv.front.queries.first_steps import first_steps
from fraginv.front.queries.frag_lists import frag_list, with_prices
from fraginv.front.queries.pages import cutting_page
from fraginv.front.queries.rows import with_forecasts
from fraginv.front.queries.today import today_page
from fraginv.front.rules.finding import count_words, say_nothing
from fraginv.front.rules.frag_filters import FOR_SALE, STAGES
from fraginv.front.views.steps import may_choose
from fraginv.stock.queries.colonies import get_cutting
from fraginv.upkeep.queries.health import not_well

LONGEST_TEXT = 200


def today(request: HttpRequest) -> HttpResponse:
    """Show what matters now, and to who sees to the house what in it needs a look."""
    looks = not_well() if person_of(request).can(Right.RUN_HOUSE) else []
    page = today_page()
    steps = [] if page.cuttings else first_steps(person_of(request))
    return render(request, "front/today.html", {"page": page, "looks": looks, "steps": steps})


def frags(request: HttpRequest) -> HttpResponse:
    """List the frags that the address asks for."""
    form = FragFilterForm(request.GET)
    if not form.is_valid():
        return narrowed_wrongly(request, form)
    asked = form.asked()
    things = frag_things(asked)
    found = frag_list(asked, after=after_asked(request))
    found = replace(found, rows=with_forecasts(found.rows))
    person = person_of(request)
    may_price = asked.stage == FOR_SALE and person.can(Right.SEE_PRICES)
    page = {
        "list": with_prices(found) if may_price else found,
        "stage": asked.stage,
        "stages": STAGES,
        "title": things.variety.name if things.variety else "",
        "narrowing": Narrowing.of(request, said_of_frags(asked, things=things)),
        "choosing": not asked.has_ended and may_choose(person),
        "back": request.get_full_path(),
    }
    return render(request, "front/frag_list.html", page)


def cutting(request: HttpRequest, cutting_id: int) -> HttpResponse:
    """Show a cutting and its frags."""
    found = get_cutting(cutting_id)
    person = person_of(request)
    page = {
        "cutting": found,
        "at_bench": person.can(Right.CUT) and is_of_sitting(found, person=person),
        "page": cutting_page(found),
        "choosing": may_choose(person),
        "back": request.get_full_path(),
    }
    return render(request, "front/cutting_detail.html", page)


def search(request: HttpRequest) -> HttpResponse:
    """Go to what a text means, or list what it may mean."""
    text = typed_text(request)
    person = person_of(request)
    found = find(text, reader=person) if text else None
    if found is not None and found.path:
        return HttpResponseRedirect(found.path)
    status = 404 if found is not None and found.is_empty else 200
    nothing = say_nothing(text, sees_customers=person.can(Right.SEE_CUSTOMERS))
    page = {"found": found, "text": text, "nothing": nothing}
    return render(request, "front/find.html", page, status=status)


def answers(request: HttpRequest) -> HttpResponse:
    """Give the few best answers to what was typed so far, for the field that finds."""
    text = typed_text(request)
    found = find_while_typing(text, reader=person_of(request)) if text else Found()
    said = count_words(len(found.answers), more=found.more)
    return render(request, "front/_find_answers.html", {"found": found, "said": said})


def typed_text(request: HttpRequest) -> str:
    """Return what was typed into the field that finds, cut where no name is as long."""
    return request.GET.get("q", "").strip()[:LONGEST_TEXT]
