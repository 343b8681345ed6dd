"""Pages that print labels, and the history of what was printed."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import InputError
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.web import after_asked, form_status, pdf_response, person_of, sent, submit
from fraginv.labels.actions.printing import print_again, start_run
from fraginv.labels.forms.printing import AgainForm, BlankForm, LabelForm
from fraginv.labels.models import PrintRun
from fraginv.labels.queries.labels import codes_of_arrival, codes_of_cutting
from fraginv.labels.queries.lost import lost_codes, lost_count
from fraginv.labels.queries.runs import (
    MOST_LABELS,
    ends_of,
    get_run,
    latest_runs,
    place_in_run,
    run_list,
    run_pdf,
    stock_of,
    what_host_gives,
)
from fraginv.labels.queries.stocks import stocks_in_use
from fraginv.labels.rules.forms import FORMS
from fraginv.labels.rules.stocks import LabelStock, gone_after, stock_for_paper


def print_labels(request: HttpRequest) -> HttpResponse:
    """Choose codes and a sheet; the address may fill it in (``codes_asked_for``)."""
    stocks, runs = stocks_in_use(), list(latest_runs())
    codes = "\n".join(codes_asked_for(request))
    initial = to_propose(stocks, runs=runs) | {"codes": codes}
    form = LabelForm(sent(request), initial=initial, stocks=stocks)

    def do() -> str:
        asked = form.cleaned_data
        run = start_run(
            asked["codes"],
            by=person_of(request),
            stock=asked["stock"],
            skip=asked["skip"],
            form=asked["form"],
        )
        return reverse("labels:run_page", args=[run.pk])

    context = {"form": form, "lost": lost_count(), **beside(stocks, runs=runs)}
    return submit(request, form, do) or render(
        request, "labels/label_form.html", context, status=form_status(form)
    )


def print_blank(request: HttpRequest) -> HttpResponse:
    """Print a run of labels that belong to nothing yet."""
    stocks, runs = stocks_in_use(), list(latest_runs())
    form = BlankForm(sent(request), initial=to_propose(stocks, runs=runs), stocks=stocks)

    def do() -> str:
        asked = form.cleaned_data
        run = start_run(
            (),
            blank=asked["blank"],
            by=person_of(request),
            stock=asked["stock"],
            skip=asked["skip"],
            form=asked["form"],
        )
        return reverse("labels:run_page", args=[run.pk])

    context = {"form": form, **beside(stocks, runs=runs)}
    return submit(request, form, do) or render(
        request, "labels/label_blank.html", context, status=form_status(form)
    )


def beside(stocks: Sequence[LabelStock], *, runs: Sequence[PrintRun]) -> dict[str, Any]:
    """Return what stands beside the question for labels."""
    return {"told": what_host_gives(stocks), "runs": runs}


def to_propose(stocks: Sequence[LabelStock], *, runs: Sequence[PrintRun]) -> dict[str, Any]:
    """Return the stock that was printed on last, and how many labels its last sheet has lost.

    Else the one for the organisation's paper, and a new sheet.
    """
    known = {stock.name: stock for stock in stocks}
    last = runs[0] if runs else None
    if last is None or last.stock not in known:
        return {"stock": stock_for_paper(organisation().paper).name}
    gone = gone_after(last.skip, last.count, stock=known[last.stock])
    return {"stock": last.stock, "skip": gone}


def run(request: HttpRequest, run_id: int) -> HttpResponse:
    """Answer with the sheets of a print run as a PDF."""
    return pdf_response(run_pdf(get_run(run_id)), name=f"labels-{run_id}.pdf")


def runs(request: HttpRequest) -> HttpResponse:
    """List all that was printed, the latest first."""
    page = run_list(after=after_asked(request))
    return render(request, "labels/run_list.html", {"page": page})


def run_page(request: HttpRequest, run_id: int) -> HttpResponse:
    """Show a print run, and print it again from one of its labels on."""
    run = get_run(run_id)
    form = AgainForm(sent(request))

    def do() -> str:
        first = form.cleaned_data["first"]
        number = place_in_run(run, code=first) if isinstance(first, str) else first
        again = print_again(
            run.pk, by=person_of(request), first=number, skip=form.cleaned_data["skip"]
        )
        return reverse("labels:run_page", args=[again.pk])

    done = submit(request, form, do)
    if done is not None:
        return done
    stock = stock_of(run)
    context = {
        "run": run,
        "form": form,
        "stock": stock,
        "form_words": FORMS[run.form],
        "ends": ends_of(run),
        "sheets": stock.place(run.skip + run.count - 1).sheet + 1,
    }
    return render(request, "labels/run_detail.html", context, status=form_status(form))


def codes_asked_for(request: HttpRequest) -> list[str]:
    """Return the codes that the page's address asks for, as people read them.

    Raises: InputError for a cutting or arrival that is no number; NotFound for an unknown one.
    """
    codes = [code for code in request.GET.getlist("codes") if code]
    for name, codes_of in (("cutting", codes_of_cutting), ("arrival", codes_of_arrival)):
        number = request.GET.get(name, "")
        if number and not (number.isascii() and number.isdigit() and len(number) < 10):
            raise InputError(f"That is no {name}. Open its page and choose its labels there.")
        if number:
            codes += [show_code(code) for code in codes_of(int(number))]
    if request.GET.get("lost"):
        codes += [show_code(code) for code in lost_codes(most=MOST_LABELS)]
    return codes
