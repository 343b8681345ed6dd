"""How a narrowed list's address is read out, widened and taken along."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.front.forms.lists import FilterForm
from fraginv.front.queries.asked_things import Said

# What says where in a list one is, not what is in it.
PLACE = "after"


@dataclass(frozen=True)
class Chip:
    """One thing by which a list is narrowed, and the address of the list without it."""

    words: str
    without: str


@dataclass(frozen=True)
class Narrowing:
    """All by which a list is narrowed; ``query`` asks for the same elsewhere."""

    chips: list[Chip]
    query: str

    @classmethod
    def of(cls, request: HttpRequest, said: Iterable[Said]) -> "Narrowing":
        """Return the narrowing of a request for a list."""
        asked = request.GET.copy()
        asked.pop(PLACE, None)
        for name in [name for name in asked if not asked[name]]:
            del asked[name]
        chips = []
        for one in said:
            rest = asked.copy()
            for name in one.names:
                rest.pop(name, None)
            chips.append(Chip(one.words, f"{request.path}?{rest.urlencode()}"))
        return cls(chips, asked.urlencode())


def narrowed_wrongly(request: HttpRequest, form: FilterForm) -> HttpResponse:
    """Say what an address asks for that cannot be."""
    page = {"wrong": form.said_wrong(), "whole": request.path.split(".")[0]}
    return render(request, "front/list_wrong.html", page, status=400)
