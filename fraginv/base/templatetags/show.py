"""What every template may use without loading it: formats, icons, controls, replay keys."""

import re
from collections.abc import Callable, Iterable
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any, TypeVar
from uuid import uuid4

from django import template
from django.forms.boundfield import BoundField, BoundWidget
from django.template.loader import render_to_string
from django.utils.html import escape, format_html
from django.utils.safestring import SafeString
from lucide.templatetags.lucide import lucide

from fraginv.base import show
from fraginv.base.controls import attributes_of, kind_of, settle_dates
from fraginv.base.models import Organisation
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import address_path, show_code

register = template.Library()

NOTHING = "–"
# Codes as on labels, numbers of papers, days and months: browsers would break them at a hyphen.
HYPHENED = re.compile(
    r"\b(?:[0-9A-Z]{3}-[0-9A-Z]{3}-[0-9A-Z]|[A-Z]-\d{4}-\d{4,}|\d{4}-\d{2}(?:-\d{2})?)\b"
)
# Not the example of how a day is typed, and not the day of a moment.
WRITTEN_DAY = re.compile(r"(?<!as in )\b\d{4}-\d{2}-\d{2}\b(?! \d{2}:\d{2})", re.ASCII)
T = TypeVar("T")


def shown(value: T | None, write: Callable[[T, Organisation], str]) -> str:
    """Write a value the organisation's way; a dash stands for one that is not known."""
    if value is None or value == "":
        return NOTHING
    return write(value, organisation())


@register.filter
def money(minor: int | None) -> str:
    """Write minor units as an amount with its currency."""
    return shown(minor, show.show_money)


@register.filter
def money_whole(minor: int | None) -> str:
    """Write minor units as an amount with its currency and no minor digits."""
    return shown(minor, show.show_money_whole)


@register.filter
def code(text: str) -> str:
    """Write a code in three groups, as on its label."""
    return show_code(text)


@register.filter
def path(text: str) -> str:
    """Return the path of the page that a code's label opens."""
    return address_path(text)


@register.filter
def unbroken(text: object) -> SafeString:
    """Keep codes, numbers of papers and written days in a text from being broken at a hyphen."""
    whole = HYPHENED.sub(r'<span class="number">\g<0></span>', escape(str(text)))
    return SafeString(whole)


@register.filter
def told(text: object) -> SafeString:
    """Write the days in a text as the house does, and keep the rest together as ``unbroken``.

    A day that shows how days are typed stays as it is.
    """
    return unbroken(WRITTEN_DAY.sub(day_in_words, str(text)))


def day_in_words(found: re.Match[str]) -> str:
    """Return a written day as the house writes days; what is not in the calendar as it is."""
    try:
        return day(date.fromisoformat(found[0]))
    except ValueError:
        return found[0]


@register.filter
def day(value: date | None) -> str:
    """Write a calendar day."""
    return shown(value, show.show_day)


@register.filter
def month(value: int | None) -> str:
    """Write a month such as 202611 in words."""
    return shown(value, show.show_month)


@register.filter
def month_name(value: int | None) -> str:
    """Write the short name of a month such as 202611 without its year."""
    return shown(value, show.show_month_name)


@register.filter
def moment(value: datetime | None) -> str:
    """Write day and time in the organisation's zone."""
    return shown(value, show.show_moment)


@register.filter
def clock(value: datetime | None) -> str:
    """Write hour and minute in the organisation's zone."""
    return shown(value, show.show_clock)


@register.filter
def percent(rate: Decimal | None) -> str:
    """Write a fraction in hundredths."""
    return shown(rate, show.show_percent)


@register.filter
def share(value: Decimal | None) -> str:
    """Write a fraction in hundredths with at most one decimal."""
    return shown(value, show.show_share)


@register.filter
def number(value: int | Decimal | None) -> str:
    """Write a number with the locale's separators."""
    exact = Decimal(value) if isinstance(value, int) else value
    return shown(exact, show.show_number)


@register.filter
def pieces(count: int | None) -> str:
    """Count living pieces in words."""
    return shown(count, show.show_pieces)


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw an icon of the library; the words beside it say what it means."""
    return drawn(str(name))


@lru_cache(maxsize=256)
def drawn(name: str) -> SafeString:
    """Draw an icon once; later pages use the same text."""
    attributes: dict[str, Any] = {"class": "icon", "aria-hidden": "true", "focusable": "false"}
    return SafeString(lucide(name, **attributes))


@register.simple_tag
def stage_tags(stage: str, flags: Iterable[str] = ()) -> SafeString:
    """Show a stage and what holds beside it, as ``base/components/_stage.html`` does."""
    return tags_drawn(str(stage), tuple(flags))


@lru_cache(maxsize=256)
def tags_drawn(stage: str, flags: tuple[str, ...]) -> SafeString:
    """Draw a stage with its flags once: a list has forty, and few that differ."""
    shown = {"stage": stage, "flags": flags}
    return SafeString(render_to_string("base/components/_stage.html", shown).strip())


@register.simple_tag
def links(items: Iterable[Any], template: str, where: str = "") -> SafeString:
    """Show the ways through the house by a template; it has ``items``, and ``where`` they stand."""
    return links_drawn(tuple(items), template, where)


@lru_cache(maxsize=512)
def links_drawn(items: tuple[Any, ...], template: str, where: str) -> SafeString:
    """Draw the same ways once: they differ by role and by the place where one is."""
    shown = {"items": items, "where": where}
    return SafeString(render_to_string(template, shown).strip())


@register.simple_tag
def replay_key() -> SafeString:
    """Give a form the key under which it is done once, however often it is sent."""
    return format_html('<input type="hidden" name="replay_key" value="{}">', uuid4())


@register.filter
def kind(field: BoundField) -> str:
    """Sort a form's question by the control that it gets."""
    return kind_of(field)


@register.simple_tag
def control(field: BoundField) -> SafeString:
    """Draw a question's control with its classes, keyboard and descriptions."""
    settle_dates(field)
    return field.as_widget(attrs=attributes_of(field))


@register.filter
def options(field: BoundField) -> Iterable[BoundWidget]:
    """Give a question's choices one by one, each as large as a thumb."""
    for widget in field.subwidgets:
        widget.data["attrs"] |= {"class": "choice__input"}
        yield widget
