"""How the house stands, and what waits to be done."""

import uuid

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from fraginv.base.models import Person
from fraginv.base.rules.roles import Right
from fraginv.base.tasks import run_later
from fraginv.base.version import version
from fraginv.base.views import server_error
from fraginv.base.web import tell, write_once
from fraginv.upkeep.actions.nightly import nightly_backup
from fraginv.upkeep.actions.tasks import put_away, try_again
from fraginv.upkeep.queries.backups import backups_made
from fraginv.upkeep.queries.health import findings, grave_findings, last_checkup
from fraginv.upkeep.queries.tasks import tasks_open

SHOWN = 20


def house(request: HttpRequest) -> HttpResponse:
    """Show how the house stands: what was looked at, the backups, and what verify found."""
    page = {
        "findings": findings(),
        "backups": backups_made()[:SHOWN],
        "checkup": last_checkup(),
        "version": version(),
    }
    return render(request, "upkeep/house.html", page)


def tasks(request: HttpRequest) -> HttpResponse:
    """Show what failed, what is being done and what waits."""
    return render(request, "upkeep/task_list.html", {"tasks": tasks_open()})


def back_up(request: HttpRequest) -> HttpResponse:
    """Let the worker make a backup as soon as it can."""

    def do() -> str:
        run_later(nightly_backup)
        return reverse("upkeep:house")

    done = write_once(request, do)
    tell(request, ["A backup is being made. Look again in a minute."])
    return done


def task_again(request: HttpRequest, task_id: uuid.UUID) -> HttpResponse:
    """Let a task that failed be done anew."""

    def do() -> str:
        try_again(task_id)
        return reverse("upkeep:tasks")

    return write_once(request, do)


def task_put_away(request: HttpRequest, task_id: uuid.UUID) -> HttpResponse:
    """Give a task that failed up."""

    def do() -> str:
        put_away(task_id)
        return reverse("upkeep:tasks")

    return write_once(request, do)


@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """Say whether the house is well; what is wrong with it only to who sees to it."""
    looked = grave_findings()
    well = all(finding.ok for finding in looked)
    said: dict[str, object] = {"status": "ok" if well else "failing"}
    person = request.user if isinstance(request.user, Person) else None
    if person is not None and person.can(Right.RUN_HOUSE):
        said["found"] = {
            finding.name: {"ok": finding.ok, "said": finding.said} for finding in looked
        }
    return JsonResponse(said, status=200 if well else 503)


def broken(request: HttpRequest) -> HttpResponse:
    """Answer where a page broke off: in a word to who asks for the house's health, else in full."""
    if request.path == reverse("upkeep:health"):
        return JsonResponse({"status": "failing"}, status=503)
    return server_error(request)
