"""What a person fills in to print labels."""

import re
from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.rules.codes import CodeError, read_code
from fraginv.labels.rules.forms import FORM_NOTES, FORMS
from fraginv.labels.rules.stocks import LabelStock

BETWEEN_CODES = re.compile(r"[\n,;]+")
CODE_BOX = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
# Longer than this is no number of a label, but its code.
LONGEST_NUMBER = 4
HALF_USED = (
    "As many as the last run used of its last sheet. Counted from the top left, row by row. "
    "0 for a new sheet, another sheet or a roll."
)


def codes_box(help_text: str) -> forms.CharField:
    """Ask for codes, one to a line."""
    box = forms.Textarea(attrs={"rows": 6} | CODE_BOX)
    return forms.CharField(label="Codes", help_text=help_text, widget=box)


def codes_in(text: str) -> list[str]:
    """Split a text into codes; actions read and check them."""
    typed = [part.strip() for part in BETWEEN_CODES.split(text)]
    return [part for part in typed if part]


def form_choices() -> list[tuple[str, str]]:
    """Return the forms of labels with what each is for."""
    return [(form, f"{words}: {FORM_NOTES[form]}") for form, words in FORMS.items()]


class SheetForm(forms.Form):
    """Ask which label sheet lies in the printer and how much of it is used up."""

    skip = forms.IntegerField(
        label="Labels gone from the first sheet",
        help_text="Counted from the top left, row by row. 0 for a new sheet or a roll.",
        initial=0,
        min_value=0,
    )
    form = forms.ChoiceField(
        label="For",
        required=False,
        choices=[("", "As the sheet or roll says"), *form_choices()],
    )

    def __init__(self, *args: Any, stocks: Sequence[LabelStock], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stock"] = forms.ChoiceField(
            label="Label sheet or roll",
            choices=[(stock.name, words_for(stock)) for stock in stocks],
            widget=forms.RadioSelect,
        )
        self.order_fields(self.field_order)
        most = max(stock.per_sheet for stock in stocks) - 1
        skip = forms.IntegerField(min_value=0, max_value=most)
        self.fields["skip"].validators = skip.validators
        self.fields["skip"].widget.attrs["max"] = most
        if self.initial.get("skip"):
            self.fields["skip"].help_text = HALF_USED


def words_for(stock: LabelStock) -> str:
    """Return the name and the measures of a stock, and what its labels are for."""
    own = "" if stock.is_of_the_house else f"{stock.name}: "
    form = "" if stock.form == "plain" else f", {FORMS[stock.form].lower()}"
    return f"{own}{stock.title}{form}"


class LabelForm(SheetForm):
    """Ask for which codes labels are to be printed."""

    codes = codes_box("One to a line: frags, lots, colonies or racks.")

    field_order = ("codes", "stock", "skip", "form")

    def clean_codes(self) -> list[str]:
        """Split the text into codes."""
        return codes_in(self.cleaned_data["codes"])


class BlankForm(SheetForm):
    """Ask how many labels to print ahead."""

    blank = forms.IntegerField(
        label="Blank labels",
        help_text="At a cutting, scan the first of a run and the next ones are taken in turn.",
        initial=30,
        min_value=1,
        max_value=5000,
    )

    field_order = ("blank", "stock", "skip", "form")


class AgainForm(forms.Form):
    """Ask from which label on a run is to be printed again."""

    first = forms.CharField(
        label="Begin with label",
        help_text="Its number in this run, or its code. 1 prints all of them.",
        initial="1",
        max_length=200,
        widget=forms.TextInput(attrs=CODE_BOX),
    )
    skip = forms.IntegerField(
        label="Labels gone from the first sheet",
        help_text="Counted from the top left, row by row. 0 for a new sheet or a roll.",
        initial=0,
        min_value=0,
    )

    def clean_first(self) -> int | str:
        """Read a label's number, or its code.

        Raises: ValidationError for what is neither.
        """
        typed = self.cleaned_data["first"].strip()
        if typed.isascii() and typed.isdigit() and len(typed) <= LONGEST_NUMBER:
            return int(typed)
        try:
            return read_code(typed)
        except CodeError as error:
            raise ValidationError(error.message) from error


class LostForm(forms.Form):
    """Ask for which codes the label is lost."""

    codes = codes_box("One to a line: of frags, lots, colonies or racks.")
    back = forms.CharField(required=False, widget=forms.HiddenInput, label="Page")

    def clean_codes(self) -> list[str]:
        """Split the text into codes."""
        return codes_in(self.cleaned_data["codes"])


class NothingForm(forms.Form):
    """Ask nothing: the button says it all."""
