"""Putting pieces aside and letting them go."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import form_status, person_of, sent, submit, tell, way_back, write_once
from fraginv.stock.actions.claims import let_go
from fraginv.stock.queries.frags import frag_by_code, open_holds
from fraginv.trade.actions.customers import hold_for_customer
from fraginv.trade.forms.selling import HoldForm


def hold(request: HttpRequest, code: str) -> HttpResponse:
    """Put pieces of a frag aside for a customer or a name."""
    frag = frag_by_code(read_code(code))
    form = HoldForm(sent(request), initial=request.GET.dict(), most=frag.pieces)
    said: list[str] = []

    def do() -> str:
        claim = hold_for_customer(frag.pk, by=person_of(request), **form.values())
        said[:] = [f"Put aside for {claim.holder}."]
        return address_path(frag.code_id)

    done = submit(request, form, do)
    if done is not None:
        tell(request, said)
        return done
    page = {"form": form, "frag": frag, "holds": open_holds([frag.pk])}
    return render(request, "trade/hold_form.html", page, status=form_status(form))


def let_hold_go(request: HttpRequest, claim_id: int) -> HttpResponse:
    """End a hold; its pieces are free again."""

    def do() -> str:
        frag = let_go(claim_id, by=person_of(request))
        return way_back(request.POST.get("back", ""), default=address_path(frag.code_id))

    done = write_once(request, do)
    messages.success(request, "Let go: the pieces are free again.")
    return done
