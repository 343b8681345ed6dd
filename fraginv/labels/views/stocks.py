"""Pages about what labels are printed on: sheets and rolls, and printers."""

from collections.abc import Callable
from dataclasses import replace

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import InputError
from fraginv.base.paper import paper_width
from fraginv.base.queries.organisation import organisation
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.labels.actions.stocks import add_stock, adjust_stock, change_stock, withdraw_stock
from fraginv.labels.forms.printing import NothingForm
from fraginv.labels.forms.stocks import AdjustForm, StockForm, initial_of
from fraginv.labels.models import Adjustment, OwnStock
from fraginv.labels.queries.runs import what_fits
from fraginv.labels.queries.stocks import (
    adjustment_of,
    any_stock,
    get_own,
    own_stocks,
    printers,
    printers_in_use,
    stock_of_row,
)
from fraginv.labels.rules.drawing import Picture, label_picture, sheet_picture
from fraginv.labels.rules.forms import FORMS
from fraginv.labels.rules.measures import stock_from
from fraginv.labels.rules.stocks import STOCKS, LabelStock


def stocks(request: HttpRequest) -> HttpResponse:
    """List sheets and rolls, and printers."""
    own = [(row, stock_of_row(row), FORMS[row.form]) for row in own_stocks()]
    context = {"house": STOCKS.values(), "own": own, "printers": printers()}
    return render(request, "labels/stock_list.html", context)


def stock_add(request: HttpRequest) -> HttpResponse:
    """Describe a sheet or roll; with ``look`` draw it first."""
    form = StockForm(sent(request), initial={"paper": organisation().paper})

    def do() -> str:
        asked = form.cleaned_data
        own = add_stock(
            asked["name"], measures=asked["measures"], form=asked["form"], by=person_of(request)
        )
        return reverse("labels:stock", args=[own.name])

    done = None if "look" in request.POST else submit(request, form, do)
    if done is not None:
        messages.success(request, "Added. Print one sheet on plain paper and hold it to the light.")
        return done
    context = {"form": form, **pictures_of(drawn_from(form))}
    return render(request, "labels/stock_add.html", context, status=form_status(form))


def stock(request: HttpRequest, stock_name: str) -> HttpResponse:
    """Show a sheet or roll, drawn; change its measures where it is the organisation's own."""
    if stock_name in STOCKS:
        return stock_page(request, stock_name)
    own = get_own(stock_name)
    form = StockForm(sent(request), initial=initial_of(own), named=True)

    def do() -> str:
        asked = form.cleaned_data
        change_stock(
            own.name, measures=asked["measures"], form=asked["form"], by=person_of(request)
        )
        return reverse("labels:stock", args=[own.name])

    done = None if "look" in request.POST else submit(request, form, do)
    if done is not None:
        messages.success(request, "Changed. What is printed from now on has the new measures.")
        return done
    return stock_page(request, stock_name, own=own, form=form)


def stock_adjust(request: HttpRequest, stock_name: str) -> HttpResponse:
    """Say on which printer a stock is printed, and move all on it."""
    shown = any_stock(stock_name)
    form = AdjustForm(sent(request), printers=printers_in_use())

    def do() -> str:
        adjust_stock(shown.name, by=person_of(request), **form.values())
        return reverse("labels:stock", args=[shown.name])

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "Set. It holds from the next print on.")
        return done
    return stock_page(request, stock_name, adjust=form)


def stock_withdraw(request: HttpRequest, stock_name: str) -> HttpResponse:
    """Offer a stock no longer, or again."""
    form, again = NothingForm(sent(request)), "again" in request.POST
    said = "It is offered again." if again else "It is offered no longer."

    def do() -> str:
        withdraw_stock(stock_name, by=person_of(request), again=again)
        return reverse("labels:stocks")

    done = told(request, form, do, said=said)
    return done or stock_page(request, stock_name, asked=form)


def told(
    request: HttpRequest, form: Form, do: Callable[[], str], *, said: str
) -> HttpResponse | None:
    """Do what a button asks and say so, or return nothing where it cannot be done."""
    done = submit(request, form, do)
    if done is not None:
        messages.success(request, said)
    return done


def stock_page(
    request: HttpRequest,
    name: str,
    *,
    own: OwnStock | None = None,
    form: StockForm | None = None,
    adjust: AdjustForm | None = None,
    asked: Form | None = None,
) -> HttpResponse:
    """Show one stock with its picture, its printer and its offset; ``asked`` could not be done."""
    own = own or (None if name in STOCKS else get_own(name))
    if own is not None and form is None:
        form = StockForm(initial=initial_of(own), named=True)
    kept = stock_of_row(own) if own else STOCKS[name]
    adjustment = adjustment_of(name)
    context = {
        "stock": kept,
        "own": own,
        "form": form,
        "form_words": FORMS[kept.form],
        "fits": what_fits(with_dots(kept, adjustment), host=organisation().label_host),
        "adjust": adjust or adjust_form(adjustment),
        "asked": asked,
        "printer": adjustment.printer,
        **pictures_of((drawn_from(form) if form and form.is_bound else None) or kept),
    }
    bound = next((one for one in (form, adjust, asked) if one is not None and one.is_bound), None)
    status = form_status(bound) if bound is not None else 200
    return render(request, "labels/stock_detail.html", context, status=status)


def with_dots(stock: LabelStock, adjustment: Adjustment) -> LabelStock:
    """Return a stock with the dots of its printer."""
    return replace(stock, dpi=adjustment.printer.dpi) if adjustment.printer else stock


def adjust_form(adjustment: Adjustment) -> AdjustForm:
    """Return the form for printer and offset as they are kept."""
    return AdjustForm(
        printers=printers_in_use(),
        initial={
            "printer": adjustment.printer_id or "",
            "right": adjustment.right_tenths / 10,
            "down": adjustment.down_tenths / 10,
        },
    )


def drawn_from(form: StockForm) -> LabelStock | None:
    """Return the stock that was typed, where its measures can be."""
    if not form.is_bound or not form.is_valid():
        return None
    asked = form.cleaned_data
    return stock_from(asked["measures"], name=asked.get("name", ""), form=asked["form"])


def pictures_of(shown: LabelStock | None) -> dict[str, Picture | str | None]:
    """Return the pictures of a sheet and of one of its labels, or why that cannot be drawn."""
    if shown is None:
        return {"sheet": None, "label": None}
    sheet = sheet_picture(shown)
    try:
        label = label_picture(
            shown,
            host=organisation().label_host,
            measure=lambda text, weight: paper_width(text, weight=weight),
        )
    except InputError as error:
        return {"sheet": sheet, "label": None, "no_label": error.message}
    return {"sheet": sheet, "label": label}
