"""Which HTML control a form's question gets, and what a phone's keyboard should know of it."""

from typing import Any

from django import forms
from django.forms.boundfield import BoundField

KINDS_OF_CHOICE = (forms.RadioSelect, forms.CheckboxSelectMultiple)


def kind_of(field: BoundField) -> str:
    """Sort a question: hidden, whole, decimal, text, or one of the words in the table below."""
    if field.is_hidden:
        return "hidden"
    widget = field.field.widget
    for kind, widgets in {
        "tick": (forms.CheckboxInput,),
        "choices": KINDS_OF_CHOICE,
        "password": (forms.PasswordInput,),
        "list": (forms.Select,),
        "file": (forms.FileInput,),
        "moment": (forms.DateTimeInput,),
        "date": (forms.DateInput,),
    }.items():
        if isinstance(widget, widgets):
            return kind
    return kind_of_number(field.field)


def kind_of_number(field: forms.Field) -> str:
    """Tell whole numbers, which get steppers, from those with decimals and from text."""
    if isinstance(field, forms.DecimalField | forms.FloatField):
        return "decimal"
    return "whole" if isinstance(field, forms.IntegerField) else "text"


def attributes_of(field: BoundField) -> dict[str, Any]:
    """Return what a control says besides what its form already says."""
    kind = kind_of(field)
    own = field.field.widget.attrs
    classes = {
        "tick": "choice__input",
        "whole": "control control--number control--whole",
        "decimal": "control control--number",
        "date": "control control--date",
        "moment": "control control--date",
        "file": "control control--file",
    }
    wanted: dict[str, Any] = {}
    if kind == "whole":
        wanted["inputmode"] = "numeric"
    if kind == "decimal":
        wanted["inputmode"] = "decimal"
    attributes = {name: value for name, value in wanted.items() if name not in own}
    attributes["class"] = " ".join(filter(None, [classes.get(kind, "control"), own.get("class")]))
    return attributes


def settle_dates(field: BoundField) -> None:
    """Let browsers offer their own calendar for days and moments."""
    widget = field.field.widget
    kind = kind_of(field)
    if kind == "date" and isinstance(widget, forms.DateInput):
        widget.input_type, widget.format = "date", "%Y-%m-%d"
    if kind == "moment" and isinstance(widget, forms.DateTimeInput):
        widget.input_type, widget.format = "datetime-local", "%Y-%m-%dT%H:%M"
