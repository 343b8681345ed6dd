"""Bringing in tables: choosing, sending, looking, and bringing in."""

from typing import cast
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.actions.uploads import keep_upload, note_problems, throw_away
from fraginv.base.errors import InputError
from fraginv.base.models import Person, Upload
from fraginv.base.queries.uploads import (
    get_load,
    get_upload_for,
    load_before,
    loads_made,
    problems_of,
    read_upload,
    uploads_of,
)
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.rules.typed_days import DayOrder
from fraginv.base.rules.uploads import MOST_PROBLEMS, Looked
from fraginv.base.tables import write_csv
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, tell, write_once
from fraginv.front.forms.load import BringInForm, UploadForm
from fraginv.front.load_kinds import TABLES, Table, table_of
from fraginv.front.loads import TableRead, bring_in_upload, look, read, template

LATE = (
    "The table does not fit any more: something was written down since it was looked at. "
    "What is wrong with it now stands below; nothing was brought in."
)
PROBLEMS_SHOWN = 50
LOADS_SHOWN = 20
CODES_SHOWN = 100
TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def overview(request: HttpRequest) -> HttpResponse:
    """Show what can be brought in, what waits for this person, and what was brought in."""
    page = {
        "tables": TABLES,
        "waiting": uploads_of(person_of(request)),
        "page": loads_made(size=LOADS_SHOWN, after=after_asked(request)),
    }
    return render(request, "front/load_list.html", page)


def kind(request: HttpRequest, kind: str) -> HttpResponse:
    """Say what a table holds, and take one to look at."""
    table = table_of(kind)
    form = UploadForm(sent(request), request.FILES or None)
    # Outside the write: looking takes seconds, and nobody must wait for it meanwhile.
    looked = look_at(form, table=table, by=person_of(request)) if form.is_valid() else None

    def do() -> str:
        data, found = cast("tuple[bytes, Looked]", looked)
        upload = keep_upload(
            data,
            kind=kind,
            name=form.cleaned_data["file"].name or kind,
            days=form.order(),
            looked=found,
            by=person_of(request),
        )
        return reverse("front:load_waiting", args=[upload.pk])

    done = submit(request, form, do)
    if done is not None:
        return done
    page = {"table": table, "columns": table.columns(), "form": form}
    return render(request, "front/load_form.html", page, status=form_status(form))


def look_at(form: UploadForm, *, table: Table, by: Person) -> tuple[bytes, Looked]:
    """Return the bytes that were sent, and what looking at them came to."""
    data: bytes = form.cleaned_data["file"].read()
    return data, look(table, data, days=form.order(), by=by)


def blank(request: HttpRequest, kind: str, ending: str) -> HttpResponse:
    """Answer with a table to fill in."""
    data = template(table_of(kind), ending=ending)
    return saved(data, ending=ending, name=f"{kind}.{ending}")


def waiting(request: HttpRequest, upload_id: int) -> HttpResponse:
    """Show a table as it was understood, with all that is wrong with it, and bring it in."""
    upload = get_upload_for(person_of(request), upload_id=upload_id)
    form = BringInForm(sent(request))
    done = bring_waiting(request, form, upload=upload)
    if done is not None:
        return done
    if form.is_bound:
        # Somebody else may have brought it in meanwhile.
        upload = get_upload_for(person_of(request), upload_id=upload_id)
    page = {
        "upload": upload,
        "form": form,
        "most": MOST_PROBLEMS,
        "before": load_before(upload.kind, mark=upload.mark) if upload.mark else None,
        "page": problems_of(upload, size=PROBLEMS_SHOWN, after=after_asked(request)),
    }
    return render(request, "front/load_waiting.html", page, status=form_status(form))


def bring_waiting(
    request: HttpRequest, form: BringInForm, *, upload: Upload
) -> HttpResponse | None:
    """Bring in a table that waits, or return None where its page is to be shown.

    What has come between since it was looked at is written down as its problems.
    """
    late: list[Problem] = []
    found: TableRead | None = None
    if form.is_valid():
        try:
            found = read(table_of(upload.kind), read_upload(upload), days=DayOrder(upload.days))
        except TableErrors as error:
            late += error.problems
            form.add_error(None, LATE)

    def do() -> str:
        knowingly, rows = form.cleaned_data["knowingly"], cast("TableRead", found)
        try:
            load = bring_in_upload(upload, found=rows, by=person_of(request), knowingly=knowingly)
        except TableErrors as error:
            late.extend(error.problems)
            raise InputError(LATE) from error
        return reverse("front:load_done", args=[load.pk])

    done = submit(request, form, do)
    if late:
        note_problems(upload.pk, problems=late)
    return done


def throw(request: HttpRequest, upload_id: int) -> HttpResponse:
    """Throw away a table that waits."""
    upload = get_upload_for(person_of(request), upload_id=upload_id)

    def do() -> str:
        throw_away(upload, by=person_of(request))
        return reverse("front:load")

    done = write_once(request, do)
    tell(request, [f"{upload.name} is thrown away. Nothing of it was brought in."])
    return done


def brought(request: HttpRequest, load_id: int) -> HttpResponse:
    """Say what a table came to, with the codes of what was made."""
    load = get_load(load_id)
    shown = load.given[:CODES_SHOWN]
    page = {
        "load": load,
        "given": shown,
        "more": len(load.given) - len(shown),
        "print": urlencode([("codes", code) for _, code, _ in shown]),
    }
    return render(request, "front/load_done.html", page)


def codes(request: HttpRequest, load_id: int) -> HttpResponse:
    """Answer with the codes of what a table made, by its lines."""
    load = get_load(load_id)
    rows = [[line, show_code(code), old] for line, code, old in load.given]
    data = write_csv(["line", "code", "old_code"], rows)
    return saved(data, ending="csv", name=f"{load.kind}-codes-{load.pk}.csv")


def saved(data: bytes, *, ending: str, name: str) -> HttpResponse:
    """Answer with a file to keep."""
    response = HttpResponse(data, content_type=TYPES[ending])
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response
