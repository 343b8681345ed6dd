"""Cutting a colony."""

from datetime import date, datetime, timedelta
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import Caution
from fraginv.base.rules.codes import CodeError, address_path, read_code, show_code
from fraginv.base.web import form_status, person_of, sent, submit, tell, write_once
from fraginv.stock.actions.cuttings import cut_colony, refuse_uncuttable
from fraginv.stock.forms.bench import CutForm
from fraginv.stock.models import Colony, Cutting
from fraginv.stock.queries.bench import cut_before, habit_of
from fraginv.stock.queries.cautions import bench_cautions, poison_cautions
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.rules.cutting import is_resting, rests_until
from fraginv.stock.rules.moves import say_apart
from fraginv.stock.views.parts import counted

# What was read before the blade counts for one sitting.
SITTING: Final = timedelta(hours=12)
READ_AT: Final = "bench_read_at"
UNREAD: Final = "Read what stands above the button, then press it again. Nothing is recorded yet."


def cut(request: HttpRequest, code: str) -> HttpResponse:
    """Record one sitting at the bench with one colony.

    What may poison is read in full before the first such colony of a sitting.
    """
    colony = colony_by_code(read_code(code))
    try:
        refuse_uncuttable(colony)
    except Conflict as error:
        return not_cut(request, colony, error)
    poisons = poison_cautions(colony.variety.genus)
    unread = bool(poisons) and not has_read(request)
    if unread and "pieces" not in request.POST:
        return before_the_blade(request, colony, poisons)
    form = form_for(request, colony)
    if unread and request.POST.get("read") != "yes":
        form.add_error(None, UNREAD)

    said: list[str] = []

    def do() -> str:
        cutting = cut_colony(colony.pk, by=person_of(request), **form.values())
        said[:] = filter(None, [say_cut(form), say_apart(set_apart_of(cutting))])
        return f"{address_path(colony.code_id)}?cutting={cutting.pk}"

    done = submit(request, form, do)
    if done is not None:
        note_read(request, poisons)
        tell(request, said)
        return done
    page = about_to_cut(form, colony) | {"cautions": poisons, "unread": unread}
    return render(request, "stock/colony_cut.html", page, status=form_status(form))


def not_cut(request: HttpRequest, colony: Colony, error: Conflict) -> HttpResponse:
    """Say why a colony is not cut, and lead back to it."""
    page = {
        "title": f"{colony.variety} is not cut",
        "message": error.message,
        "status": error.status,
        "url": address_path(colony.code_id),
        "action": "To the colony",
    }
    return render(request, "base/error.html", page, status=error.status)


def about_to_cut(form: CutForm, colony: Colony) -> dict[str, Any]:
    """Return what the page shows of a colony and its last cutting; where it rests, ask why.

    Queries: 1 where it was cut on that day already.
    """
    day = day_asked(form)
    resting = rests_on(day, colony)
    form.ask_why(resting=resting is not None, most=colony.most_pieces)
    return {
        "colony": colony,
        "form": form,
        "rests_until": resting,
        "before": say_before(cut_before(colony, day=day)),
        "bench": bench_cautions(),
    }


def form_for(request: HttpRequest, colony: Colony) -> CutForm:
    """Return the form, filled in as the person cut the last time.

    What is cut in quarantine stays beside its colony.
    """
    away = colony.rack is not None and colony.rack.trough.system.quarantine
    habit = habit_of(person_of(request))
    initial = {
        "first_code": as_shown(request.GET.get("first", "")[:20] or habit.next_label),
        "medium": habit.medium,
        "tool": habit.tool,
        "dip": habit.dip,
        "rack": colony.rack if away else habit.rack,
    }
    return CutForm(sent(request), initial=initial)


def as_shown(text: str) -> str:
    """Return a code as people read it, and anything else as it was typed."""
    try:
        return show_code(read_code(text)) if text else ""
    except CodeError:
        return text


def before_the_blade(request: HttpRequest, colony: Colony, poisons: list[Caution]) -> HttpResponse:
    """Show what may poison in full, and go on once somebody says that it was read."""
    if request.method == "POST":
        done = write_once(request, request.get_full_path)
        note_read(request, poisons)
        return done
    page = {"colony": colony, "cautions": [*poisons, *bench_cautions()]}
    return render(request, "stock/colony_before.html", page)


def has_read(request: HttpRequest) -> bool:
    """Tell whether the person who is signed in here has read the caution in this sitting."""
    read = request.session.get(READ_AT)
    return isinstance(read, str) and clock.now() - datetime.fromisoformat(read) < SITTING


def note_read(request: HttpRequest, poisons: list[Caution]) -> None:
    """Remember for this sitting that the caution was read."""
    if poisons:
        request.session[READ_AT] = clock.now().isoformat()


def set_apart_of(cutting: Cutting) -> int:
    """Return how many frags of a cutting were set apart at once.

    Queries: 1.
    """
    return cutting.frags.filter(apart=True).count()


def day_asked(form: CutForm) -> date:
    """Return the day that was typed, or today where none was, or none that can be read."""
    day: date | None = form.cleaned_data.get("day") if form.is_bound else None
    return day or today()


def rests_on(day: date, colony: Colony) -> date | None:
    """Return until when a colony rests that may not be cut on a day, else None."""
    if not is_resting(day, last_cut=colony.last_cut_on, rest_days=colony.rest_days):
        return None
    return rests_until(colony.last_cut_on, rest_days=colony.rest_days)


def say_before(cuttings: list[Cutting]) -> str:
    """Say what was cut on the same day already, nothing for nothing."""
    told = [f"{counted(one.pieces, 'piece', 'pieces')} by {one.by.name}" for one in cuttings]
    return " and ".join(told)


def say_cut(form: CutForm) -> str:
    """Say what was recorded."""
    values = form.values()
    pieces = counted(values["pieces"], "piece", "pieces")
    made = f"One lot of {pieces}" if values["lot"] else counted(values["pieces"], "frag", "frags")
    lost = f", {values['lost']} lost at the bench" if values["lost"] else ""
    return f"{made} cut{lost}."
