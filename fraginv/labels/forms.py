"""What a person fills in to print labels."""

import re

from django import forms

from fraginv.labels.rules.stocks import STOCKS

BETWEEN_CODES = re.compile(r"[\n,;]+")


class SheetForm(forms.Form):
    """Ask which label sheet lies in the printer and how much of it is used up."""

    stock = forms.ChoiceField(
        label="Label sheet",
        choices=[(stock.name, stock.title) for stock in STOCKS.values()],
        widget=forms.RadioSelect,
    )
    skip = forms.IntegerField(
        label="Labels gone from the first sheet",
        help_text="Counted from the top left, row by row. 0 for a new sheet.",
        initial=0,
        min_value=0,
        max_value=max(stock.per_sheet for stock in STOCKS.values()) - 1,
    )


class LabelForm(SheetForm):
    """Ask for which codes labels are to be printed."""

    codes = forms.CharField(
        label="Codes",
        help_text="One to a line: frags, lots, colonies or racks.",
        widget=forms.Textarea(attrs={"rows": 6, "autocapitalize": "characters"}),
    )

    field_order = ("codes", "stock", "skip")

    def clean_codes(self) -> list[str]:
        """Split the text into codes; the action reads and checks them."""
        typed = [part.strip() for part in BETWEEN_CODES.split(self.cleaned_data["codes"])]
        return [part for part in typed if part]


class BlankForm(SheetForm):
    """Ask how many labels to print ahead."""

    blank = forms.IntegerField(
        label="Blank labels",
        help_text="At a cutting, scan the first of a run and the next ones are taken in turn.",
        initial=30,
        min_value=1,
        max_value=5000,
    )

    field_order = ("blank", "stock", "skip")
