"""Pages about labels that there are: lost ones, and blank ones on hand."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import after_asked, form_status, person_of, sent, submit, way_back
from fraginv.labels.actions.lost import mark_label_found, mark_label_lost
from fraginv.labels.actions.rolls import retire_roll
from fraginv.labels.forms.printing import LostForm, NothingForm
from fraginv.labels.queries.lost import lost_count, lost_page
from fraginv.labels.queries.rolls import get_roll, roll_list


def lost(request: HttpRequest) -> HttpResponse:
    """Collect codes whose label is lost, to print them all at once."""
    form = LostForm(sent(request))
    said: list[str] = []

    def do() -> str:
        codes = form.cleaned_data["codes"]
        noted = mark_label_lost(codes, by=person_of(request))
        said[:] = [say_noted(len(noted))]
        return way_back(form.cleaned_data["back"], default=page_to_go_on(request, codes=codes))

    done = submit(request, form, do)
    if done is not None:
        for words in said:
            messages.success(request, words)
        return done
    page = lost_page(after=after_asked(request))
    context = {"form": form, "page": page, "count": lost_count()}
    return render(request, "labels/lost_list.html", context, status=form_status(form))


def page_to_go_on(request: HttpRequest, *, codes: Sequence[str]) -> str:
    """Return the page of the one thing whose button was pressed, or the list."""
    if "back" not in request.POST and len(codes) == 1:
        return address_path(read_code(codes[0]))
    return reverse("labels:lost")


def say_noted(count: int) -> str:
    """Say how many labels were noted as lost."""
    if not count:
        return "Noted as lost already. Print it from the list of lost labels."
    words = "The label is" if count == 1 else f"{count} labels are"
    return f"{words} on the list of lost labels. Print that list when it suits you."


def lost_found(request: HttpRequest) -> HttpResponse:
    """Take a label that was found again from the list."""
    form = LostForm(sent(request))

    def do() -> str:
        mark_label_found(form.cleaned_data["codes"], by=person_of(request))
        return reverse("labels:lost")

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "Taken off the list.")
        return done
    context = {"form": form, "page": lost_page(), "count": lost_count()}
    return render(request, "labels/lost_list.html", context, status=form_status(form))


def rolls(request: HttpRequest) -> HttpResponse:
    """List the rolls of blank labels with what is left of each."""
    page = roll_list(after=after_asked(request))
    return render(request, "labels/roll_list.html", {"page": page})


def roll(request: HttpRequest, roll_number: int) -> HttpResponse:
    """Show what is left of one roll, and throw it away."""
    form = NothingForm(sent(request))

    def do() -> str:
        retire_roll(roll_number, by=person_of(request))
        return reverse("labels:rolls")

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, f"What was left of roll {roll_number} is thrown away.")
        return done
    context = {"form": form, "roll": get_roll(roll_number)}
    return render(request, "labels/roll_detail.html", context, status=form_status(form))
