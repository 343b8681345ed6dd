"""Pages that print labels."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import InputError
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.web import form_status, pdf_response, person_of, submit
from fraginv.labels.actions.printing import start_run
from fraginv.labels.forms import BlankForm, LabelForm
from fraginv.labels.queries.labels import codes_of_cutting
from fraginv.labels.queries.runs import get_run, latest_runs, run_pdf, what_host_gives
from fraginv.labels.rules.stocks import stock_for_paper


def print_labels(request: HttpRequest) -> HttpResponse:
    """Choose codes and a sheet, and go to the labels; ``?codes=`` or ``?cutting=`` fill it in."""
    initial = {
        "stock": stock_for_paper(organisation().paper).name,
        "codes": "\n".join(codes_asked_for(request)),
    }
    form = LabelForm(request.POST or None, initial=initial)

    def do() -> str:
        asked = form.cleaned_data
        run = start_run(
            asked["codes"], by=person_of(request), stock=asked["stock"], skip=asked["skip"]
        )
        return reverse("labels:run", args=[run.pk])

    context = {"form": form, "told": what_host_gives(), "runs": latest_runs()}
    return submit(request, form, do) or render(
        request, "labels/label_form.html", context, status=form_status(form)
    )


def print_blank(request: HttpRequest) -> HttpResponse:
    """Print a run of labels that belong to nothing yet."""
    initial = {"stock": stock_for_paper(organisation().paper).name}
    form = BlankForm(request.POST or None, initial=initial)

    def do() -> str:
        asked = form.cleaned_data
        run = start_run(
            (),
            blank=asked["blank"],
            by=person_of(request),
            stock=asked["stock"],
            skip=asked["skip"],
        )
        return reverse("labels:run", args=[run.pk])

    context = {"form": form, "told": what_host_gives(), "runs": latest_runs()}
    return submit(request, form, do) or render(
        request, "labels/label_blank.html", context, status=form_status(form)
    )


def run(request: HttpRequest, run_id: int) -> HttpResponse:
    """Answer with the sheets of a print run as a PDF."""
    return pdf_response(run_pdf(get_run(run_id)), name=f"labels-{run_id}.pdf")


def codes_asked_for(request: HttpRequest) -> list[str]:
    """Return the codes that the page's address asks for, as people read them.

    Raises: InputError for a cutting that is no number; NotFound for an unknown one.
    """
    codes = [code for code in request.GET.getlist("codes") if code]
    cutting = request.GET.get("cutting", "")
    if cutting:
        if not (cutting.isascii() and cutting.isdigit() and len(cutting) < 10):
            raise InputError("That is no cutting. Open its page and choose its labels there.")
        codes += [show_code(code) for code in codes_of_cutting(int(cutting))]
    return codes
