"""Whom an availability sheet is for."""

from typing import Any

from django import forms

from fraginv.sheets.queries.availability import mark_of, readers_known


class ReaderForm(forms.Form):
    """Ask at whose prices the sheet is."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds, customers = readers_known()
        self.fields["reader"] = forms.ChoiceField(
            label="At the prices of",
            choices=[
                ("Kinds of customer", [(mark_of(kind), kind.name.capitalize()) for kind in kinds]),
                ("Customers", [(mark_of(one), f"{one} ({one.kind})") for one in customers]),
            ],
        )
