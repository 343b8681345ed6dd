"""Selling at the bench: the holds of one customer or name, and what is scanned."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError, InputError
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import CodeError, read_code
from fraginv.base.rules.columns import read_whole
from fraginv.base.show import show_money
from fraginv.base.web import form_status, person_of, submit
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.forms.selling import LATER, SellForm
from fraginv.trade.models import Sale
from fraginv.trade.queries.basket import CODE, Basket, code_to_sell, fill_basket
from fraginv.trade.queries.customers import waiting
from fraginv.trade.rules.asked import Tender
from fraginv.trade.rules.words import Channel, Means

MOST_PIECES = 10_000
PIECES = "pieces-"


def sell(request: HttpRequest) -> HttpResponse:
    """Put pieces together, show what they come to, and sell them at one press."""
    data = asked_of(request)
    form = SellForm(data)
    basket = basket_of(form, data)
    if data.get("code"):
        basket = with_code(form, data, basket=basket)
    if request.POST.get("step") == "sell":
        refuse_unready(form, basket)

        def do() -> str:
            return reverse("trade:sale", args=[write_sale(request, form, basket).pk])

        done = submit(request, form, do)
        if done is not None:
            messages.success(request, "Sold.")
            return done
    data["seen"] = str(basket.sums.total) if basket.sums else ""
    page = {"form": form, "basket": basket, "waiting": waiting()}
    return render(request, "trade/sell.html", page, status=form_status(form))


def asked_of(request: HttpRequest) -> QueryDict:
    """Return what was sent, or the address's own questions with the usual answers."""
    if request.method == "POST":
        return without_removed(request.POST.copy())
    data = request.GET.copy()
    data.setdefault("channel", Channel.COUNTER.value)
    data.setdefault("means", Means.CASH.value)
    return data


def without_removed(data: QueryDict) -> QueryDict:
    """Take the line out of the basket whose button was pressed; of a hold no piece is sold."""
    key = str(data.get("remove", ""))
    if key.startswith(CODE):
        data.setlist(
            "codes", [text for text in data.getlist("codes") if text != key.removeprefix(CODE)]
        )
        data.pop(f"{PIECES}{key}", None)
    elif key:
        data[f"{PIECES}{key}"] = "0"
    return data


def basket_of(form: SellForm, data: QueryDict) -> Basket:
    """Return the basket as it was asked for; what cannot be read goes on the form."""
    form.is_valid()
    return fill_basket(
        codes_in(data),
        pieces=pieces_in(form, data),
        customer=form.cleaned_data.get("customer"),
        name=form.cleaned_data.get("name", ""),
        discount=form.cleaned_data.get("discount") or 0,
    )


def codes_in(data: QueryDict) -> list[str]:
    """Return the codes that are in the basket, each once; what is no code is left out."""
    codes = []
    for text in data.getlist("codes"):
        try:
            codes.append(read_code(text))
        except CodeError:
            continue
    return list(dict.fromkeys(codes))


def pieces_in(form: SellForm, data: QueryDict) -> dict[str, int]:
    """Return how many pieces of each line are wanted; what is no number goes on the form."""
    found = {}
    for name in data:
        if not name.startswith(PIECES):
            continue
        try:
            found[name.removeprefix(PIECES)] = read_whole(
                str(data[name]).strip(), least=0, most=MOST_PIECES
            )
        except InputError as error:
            form.add_error(None, f"Pieces: {error.message}")
    return found


def with_code(form: SellForm, data: QueryDict, *, basket: Basket) -> Basket:
    """Put the piece that was scanned or typed into the basket, or say why it cannot be."""
    try:
        code = code_to_sell(str(data["code"]), basket=basket)
    except FraginvError as error:
        form.add_error("code", error.message)
        return basket
    data.appendlist("codes", code)
    data["code"] = ""
    return basket_of(form, data)


def refuse_unready(form: SellForm, basket: Basket) -> None:
    """Put on the form what keeps a basket from being sold as it was seen."""
    asked = form.cleaned_data
    if basket.sums is None:
        form.add_error(None, basket.problem or "There is nothing to sell. Add a piece first.")
    elif asked.get("seen") != str(basket.sums.total):
        shown = show_money(basket.sums.total, organisation())
        form.add_error(None, f"The total is now {shown}. Look at it, and press Sell again.")
    if asked.get("means") == LATER and not (asked.get("customer") or asked.get("name", "").strip()):
        form.add_error("means", "Choose a customer or write a name for what is not paid yet.")


def write_sale(request: HttpRequest, form: SellForm, basket: Basket) -> Sale:
    """Post the sale of a basket."""
    asked = form.cleaned_data
    return post_sale(
        [line.item for line in basket.sold],
        by=person_of(request),
        channel=Channel(asked["channel"]),
        customer=asked["customer"],
        for_name=asked["name"],
        discount=asked["discount"] or 0,
        payment=tender_of(form, basket),
    )


def tender_of(form: SellForm, basket: Basket) -> Tender | None:
    """Return the money that was taken: all that the basket comes to where no amount is written."""
    asked = form.cleaned_data
    amount = asked["amount"]
    if amount is None:
        amount = basket.sums.total if basket.sums else 0
    if asked["means"] == LATER or not amount:
        return None
    return Tender(Means(asked["means"]), amount)
