"""A page that holds every component, served to a browser without a server."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any, NamedTuple

from django import forms
from django.template import Engine, RequestContext
from django.test import RequestFactory
from playwright.sync_api import Page, Route

from fraginv.base.models import Code, Organisation, Person
from fraginv.base.queries.portions import Portion
from tests.house.tree import STATIC, TEMPLATES

SITE = "http://specimen.test"
TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
# The base templates alone: no page of a higher package takes part.
ENGINE = Engine(
    dirs=[str(TEMPLATES)],
    builtins=["fraginv.base.templatetags.show"],
    libraries={"static": "django.templatetags.static"},
)
PAGE = """{% extends layout %}
{% block title %}Specimen{% endblock %}
{% block trail %}<a class="trail" href="/up">{% icon "chevron-left" %}Colonies</a>{% endblock %}
{% block heading %}Moonwell{% endblock %}
{% block actions %}<a class="button" href="/labels">{% icon "printer" %}Print</a>{% endblock %}
{% block main %}
<div class="split">
<div class="stack">
  <p>{% include "base/components/_code.html" with code="7K3Q9F2" url="/T/7K3Q9F2" large=True %}</p>
  {% include "base/components/_stage.html" with stage="ready" flags=stages only %}
  {% include "base/components/_caution.html" %}
  {% include "base/components/_figure.html" with label="Income" value="$45.00" lead=True %}
  <div class="grid grid--three">
    {% include "base/components/_figure.html" with label="Owed" value="$12,345.60" only %}
    {% include "base/components/_figure.html" with label="Paid" value="$148.75" only %}
    {% include "base/components/_figure.html" with label="Tax" value="$0.00" only %}</div>
  {% include "base/components/_code.html" with code="4M8T2WC" url="" large=False only %}
  <nav class="choices choices--strip" aria-label="Stages">
    {% for stage in stages %}<a class="choice" href="/s">{{ stage }} for long</a>{% endfor %}
    <a class="choice" href="/s" aria-current="true">lost</a></nav>
  {% include "base/components/_facts.html" %}
  {% include "base/components/_empty.html" with title="None" url="/new" action="Add one" %}
  <form method="post" class="stack" id="rows" data-choose>
    <label class="choice"><input class="choice__input" type="checkbox" data-choose-all>All</label>
    <ul class="list">{% for code in codes %}<li class="list__row">
      <label class="list__choose"><input class="choice__input" type="checkbox" name="frag"
        value="{{ code }}" aria-label="{{ code }}"></label>
      <span class="list__main"><a class="list__link" href="/T/{{ code }}">Harbourmaster's Lamp</a>
      <span class="list__note"><span>rack B2</span></span></span>
      <span class="list__end">
        {% include "base/components/_stage.html" with stage="healing" flags=stages only %}</span>
    </li>{% endfor %}</ul>
    <p data-choose-count data-one="frag" data-many="frags"></p>
    <button class="button" type="submit" data-choose-needed>Grade</button>
  </form>
  <div class="table-frame" tabindex="0" role="region" aria-label="Bills"><table class="table">
    <thead><tr><th scope="col">Kind</th>
      <th class="table__number" scope="col">Amount</th></tr></thead>
    <tbody><tr><th scope="row"><a class="table__link" href="/b">Salt</a></th>
      <td class="table__number">$880.00</td></tr></tbody></table></div>
  {% include "base/components/_pager.html" %}
</div>
<form class="form card" method="post" id="cut" data-busy="Cutting…">
  {% replay_key %}
  {% include "base/components/_form_errors.html" %}
  {% for field in form %}{% include "base/components/_field.html" %}{% endfor %}
  <div class="bar"><button class="button button--primary" type="submit">Save</button></div>
</form>
<form method="post" id="lose" data-confirm="Write off 3 pieces?" data-confirm-yes="Write off">
  <button class="button button--danger" type="submit">Lose</button>
</form>
</div>
{% endblock %}"""


class Cutting(forms.Form):
    """One question of each kind."""

    pieces = forms.IntegerField(min_value=1, max_value=3, initial=2, help_text="Living ones.")
    day = forms.DateField(required=False)
    medium = forms.ChoiceField(
        choices=[("plug", "Plug"), ("disc", "Disc")], widget=forms.RadioSelect, required=False
    )
    lot = forms.BooleanField(label="One lot", required=False)
    photo = forms.FileField(required=False)
    note = forms.CharField(widget=forms.Textarea, required=False)


class Way(NamedTuple):
    """A destination as the navigation shows it."""

    label: str
    icon: str
    url: str
    current: bool


class Ways(NamedTuple):
    """Destinations in a group, or the first of all with the groups of the others."""

    title: str
    places: tuple[Way, ...] = ()
    first: tuple[Way, ...] = ()
    groups: tuple["Ways", ...] = ()
    current: bool = False
    opened: bool = False


def ways(*names: str) -> tuple[Way, ...]:
    """Make destinations of names."""
    return tuple(Way(name, "layers", f"/{name}", current=name == "Cut") for name in names)


NAVIGATION = Ways(
    "",
    first=ways("Today", "Stock", "Cut", "Sell"),
    groups=(
        Ways("Growing", ways("Rounds", "Water"), opened=True),
        Ways("Money", ways("Costs", "Month")),
        Ways("Settings", ways("Upkeep")),
    ),
)


def specimen(layout: str = "base/layout_staff.html") -> str:
    """Write the page with one wrong answer and everything else in order."""
    form = Cutting({"pieces": "0"})
    request = RequestFactory().get("/?page=2")
    request.user = Person(name="Ines Marlow", role="grower", username="ines")
    context: dict[str, Any] = {
        "layout": layout,
        "request": request,
        "organisation": Organisation(name="Tidewater Hall", email="crew@tidewater.test"),
        "navigation": NAVIGATION,
        "find_url": "/find",
        "sign_out_url": "/out",
        "stages": ["held", "apart", "quarantined", "kept", "barred"],
        "caution": SimpleNamespace(text="Wear gloves.", source="Case reports"),
        "facts": [("Genus", "Zoanthus"), ("Place", "Trough 2, rack B")],
        "codes": ["7K3Q9F2", "4M8T2WC"],
        "form": form,
        "page": Portion[Code]([], 12, is_first=False),
    }
    return ENGINE.from_string(PAGE).render(RequestContext(request, context))


def serve(page: Page, body: str, *, sent: list[str]) -> None:
    """Answer the browser: the page, the static files, and an empty page to what it sends."""
    page.route("**/*", answer_with(body, sent))
    page.goto(f"{SITE}/")


def answer_with(body: str, sent: list[str]) -> Callable[[Route], None]:
    """Make an answering function that notes in ``sent`` what forms send."""

    def answer(route: Route) -> None:
        path = route.request.url.removeprefix(SITE)
        file = STATIC / path.removeprefix("/static/")
        if route.request.method == "POST":
            sent.append(route.request.post_data or "")
            route.fulfill(status=204, body="")
        elif path.startswith("/static/") and file.is_file():
            route.fulfill(body=file.read_bytes(), content_type=TYPES.get(file.suffix, ""))
        else:
            route.fulfill(body=body, content_type="text/html")

    return answer
